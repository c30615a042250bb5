import type { App, BrowserWindow as Window, BrowserWindowConstructorOptions, Session } from 'electron';

/** The part of Electron that the rim uses, so that a test can stand in for the runtime. */
export interface Desktop {
  readonly app: Pick<App, 'whenReady' | 'on' | 'quit' | 'exit' | 'enableSandbox'>;
  readonly BrowserWindow: new (options: BrowserWindowConstructorOptions) => Window;
  readonly session: { readonly defaultSession: Session };
}

/** Lines that the host sends. */
export interface Lines {
  on(event: 'line', listener: (line: string) => void): unknown;
}

/**
 * The whole desktop rim: one window on the host's loopback door, locked to it. The host is another process, which
 * started this one and decides everything; its lines are `{"show": ADDRESS}` (a new one replaces what the window
 * holds) and `{"end": true}`. Says `shown` when the first page stands, or leaves with 3 so that the host opens a
 * browser instead.
 *
 * When the host is gone without a word the window stays, because the page in it then says what to do.
 */
export function runDesktop(desktop: Desktop, lines: Lines, say: (line: string) => void): void {
  const { app } = desktop;
  let window: Window | null = null;
  // The door that the window is locked to. Not what the window shows: before its first page that is nothing.
  let door: string | null = null;
  app.enableSandbox();
  app.on('window-all-closed', () => app.quit());
  const ready = app.whenReady().then(() => refusePermissions(desktop.session.defaultSession));

  const show = async (address: string): Promise<void> => {
    await ready;
    if (window === null || window.isDestroyed()) {
      window = new desktop.BrowserWindow(windowOptions());
      lockWindow(window, () => door);
    }
    door = originOf(address);
    await window.loadURL(address);
    window.show();
    say('shown');
  };

  lines.on('line', (line) => {
    const message = messageOf(line);
    if (message === null) return;
    if (message.end === true) app.quit();
    const address = message.show === undefined ? null : loopbackAddress(message.show);
    if (address !== null) show(address).catch(() => app.exit(3));
  });
}

/** Options of every window: no Node, no preload, and no throttling, because a hidden window still watches the host. */
export function windowOptions(): BrowserWindowConstructorOptions {
  return {
    width: 1366,
    height: 768,
    minWidth: 1024,
    minHeight: 640,
    show: false,
    autoHideMenuBar: true,
    title: 'Chamberside',
    webPreferences: {
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      contextIsolation: true,
      sandbox: true,
      webSecurity: true,
      webviewTag: false,
      allowRunningInsecureContent: false,
      backgroundThrottling: false,
      spellcheck: false,
    },
  };
}

/** Nothing in the page can leave the door that it was loaded from, or open anything beside it. */
function lockWindow(window: Window, door: () => string | null): void {
  const { webContents } = window;
  webContents.setWindowOpenHandler(() => ({ action: 'deny' }));
  const stay = (event: { preventDefault(): void }, address: string): void => {
    if (originOf(address) !== door()) event.preventDefault();
  };
  webContents.on('will-navigate', (event, address) => stay(event, address));
  webContents.on('will-redirect', (event, address) => stay(event, address));
  webContents.on('will-attach-webview', (event) => event.preventDefault());
}

function refusePermissions(session: Session): void {
  session.setPermissionRequestHandler((_contents, _permission, answer) => answer(false));
  session.setPermissionCheckHandler(() => false);
}

/** The address, if it is one of the host's: http on 127.0.0.1 with a port. */
function loopbackAddress(text: unknown): string | null {
  if (typeof text !== 'string' || !URL.canParse(text)) return null;
  const address = new URL(text);
  return address.protocol === 'http:' && address.hostname === '127.0.0.1' && address.port !== '' ? address.href : null;
}

function originOf(address: string): string | null {
  return URL.canParse(address) ? new URL(address).origin : null;
}

function messageOf(line: string): { show?: unknown; end?: unknown } | null {
  try {
    const value: unknown = JSON.parse(line);
    return typeof value === 'object' && value !== null ? value : null;
  } catch {
    return null;
  }
}
