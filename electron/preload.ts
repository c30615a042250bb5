import { contextBridge, ipcRenderer } from 'electron';
import { exposePageBridge } from './page-bridge.ts';

exposePageBridge(contextBridge, ipcRenderer);
