import type { ContextBridge, IpcRenderer } from 'electron';
import type { StopKeyState } from './trial-guard.ts';

/** Name of the one message from the rim to a page. */
export const stopKeyChannel = 'chamberside-stop-key';

/** All that a page can reach: it is told, and can ask for nothing. */
export interface PageBridge {
  /** Told at once what is known, and after every change. */
  onStopKey(listener: (state: StopKeyState) => void): void;
}

/** Puts `chambersideDesktop` into the page. A state that makes no sense is not handed on. */
export function exposePageBridge(
  bridge: Pick<ContextBridge, 'exposeInMainWorld'>,
  messages: Pick<IpcRenderer, 'on'>,
): void {
  let known: StopKeyState = 'off';
  const listeners: ((state: StopKeyState) => void)[] = [];
  messages.on(stopKeyChannel, (_event, state: unknown) => {
    if (state !== 'off' && state !== 'on' && state !== 'refused') return;
    known = state;
    for (const listener of listeners) listener(known);
  });
  const page: PageBridge = {
    onStopKey(listener) {
      listeners.push(listener);
      listener(known);
    },
  };
  bridge.exposeInMainWorld('chambersideDesktop', page);
}
