import type { BrowserWindow, BrowserWindowConstructorOptions, DownloadItem, Session } from 'electron';
import { constants, setPriority } from 'node:os';
import { words } from './words.ts';

/** Address of the subject's display within the page. */
const subjectHash = '#/subject';

/**
 * Options of every window: no Node, no throttling, because a hidden window still watches the host.
 * @param preload absolute path of the preload's bundle.
 */
export function windowOptions(preload: string): BrowserWindowConstructorOptions {
  return {
    width: 1366,
    height: 768,
    minWidth: 1024,
    minHeight: 640,
    show: false,
    autoHideMenuBar: true,
    title: words.program,
    webPreferences: {
      preload,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      contextIsolation: true,
      sandbox: true,
      webSecurity: true,
      webviewTag: false,
      allowRunningInsecureContent: false,
      experimentalFeatures: false,
      navigateOnDragDrop: false,
      safeDialogs: true,
      backgroundThrottling: false,
      spellcheck: false,
    },
  };
}

/**
 * The page's process gives way to the host, which switches ports: a late frame is not lost. Nothing is done where the
 * system forbids it; only promptness depends on it.
 */
export function rankPageBelow({ webContents }: BrowserWindow): void {
  try {
    setPriority(webContents.getOSProcessId(), constants.priority.PRIORITY_BELOW_NORMAL);
  } catch {
    // It draws with the rank that it has.
  }
}

/**
 * Nothing in the page can leave the door that it was loaded from, or open anything beside it but the subject's display
 * of the same door, which is locked in the same way and goes with its window.
 */
export function lockWindow(window: BrowserWindow, door: () => string | null, preload: string): void {
  const { webContents } = window;
  webContents.setWindowOpenHandler(({ url }) =>
    originOf(url) === door() && new URL(url).hash === subjectHash
      ? { action: 'allow', overrideBrowserWindowOptions: { ...windowOptions(preload), show: true } }
      : { action: 'deny' },
  );
  webContents.on('did-create-window', (display) => {
    lockWindow(display, door, preload);
    window.once('closed', () => {
      if (!display.isDestroyed()) display.destroy();
    });
  });
  const stay = (event: { preventDefault(): void }, address: string): void => {
    if (originOf(address) !== door()) event.preventDefault();
  };
  webContents.on('will-navigate', (event, address) => stay(event, address));
  webContents.on('will-redirect', (event, address) => stay(event, address));
  webContents.on('will-frame-navigate', (event) => stay(event, event.url));
  webContents.on('will-attach-webview', (event) => event.preventDefault());
}

/**
 * No permission is granted. What a page offers to save goes where the person says in a box of the system, and only if
 * the page is the door's: no page ever names or learns a path.
 */
export function guardSession(session: Session, door: () => string | null): void {
  session.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  session.setPermissionCheckHandler(() => false);
  session.setDevicePermissionHandler(() => false);
  session.on('will-download', (event, item: DownloadItem) => {
    if (originOf(item.getURL()) !== door()) return event.preventDefault();
    item.setSaveDialogOptions({ title: words.saveTitle, defaultPath: plainName(item.getFilename()) });
  });
}

/** A name without folders, whatever a page called its file. */
function plainName(name: string): string {
  const last = name.split(/[/\\]/).at(-1) ?? '';
  return /^\.*$/.test(last) ? 'chamberside' : last;
}

/** The address, if it is one of the host's: http on 127.0.0.1 with a port. */
export function loopbackAddress(text: unknown): string | null {
  if (typeof text !== 'string' || !URL.canParse(text)) return null;
  const address = new URL(text);
  const plain = address.username === '' && address.password === '';
  const loopback = address.protocol === 'http:' && address.hostname === '127.0.0.1' && address.port !== '';
  return plain && loopback ? address.href : null;
}

export function originOf(address: string): string | null {
  return URL.canParse(address) ? new URL(address).origin : null;
}
