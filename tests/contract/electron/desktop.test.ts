import { EventEmitter } from 'node:events';
import { setImmediate as turn } from 'node:timers/promises';
import type { BrowserWindow, BrowserWindowConstructorOptions, Session } from 'electron';
import { describe, expect, it } from 'vitest';
import { runDesktop, type Desktop } from '../../../electron/desktop.ts';

/**
 * The rim against a stand-in for the runtime, which the machines that build this cannot have. It shows that the rim
 * asks for the right things; that Electron does them is not shown here.
 */
class FakeContents extends EventEmitter {
  url = '';
  openHandler: ((details: { url: string }) => { action: string }) | null = null;
  setWindowOpenHandler(handler: (details: { url: string }) => { action: string }): void {
    this.openHandler = handler;
  }
}

class FakeWindow {
  readonly webContents = new FakeContents();
  readonly options: BrowserWindowConstructorOptions;
  destroyed = false;
  shown = 0;
  constructor(options: BrowserWindowConstructorOptions) {
    this.options = options;
    runtime.windows.push(this);
  }
  isDestroyed(): boolean {
    return this.destroyed;
  }
  loadURL(address: string): Promise<void> {
    if (runtime.loadFails) return Promise.reject(new Error('ERR_CONNECTION_REFUSED'));
    // The door answers a token with a redirect, while the window shows nothing yet.
    const redirected = new URL('/', address).href;
    let refusedByLock = false;
    this.webContents.emit('will-redirect', { preventDefault: () => (refusedByLock = true) }, redirected);
    if (refusedByLock) return Promise.reject(new Error('ERR_ABORTED'));
    this.webContents.url = address;
    return Promise.resolve();
  }
  show(): void {
    this.shown += 1;
  }
}

class FakeRuntime {
  readonly windows: FakeWindow[] = [];
  readonly app = Object.assign(new EventEmitter(), {
    ended: [] as (number | 'quit')[],
    sandboxed: false,
    whenReady: () => Promise.resolve(),
    quit: () => this.app.ended.push('quit'),
    exit: (code: number) => this.app.ended.push(code),
    enableSandbox: () => {
      this.app.sandboxed = true;
    },
  });
  permissionRequest: ((contents: null, permission: string, answer: (granted: boolean) => void) => void) | null = null;
  permissionCheck: (() => boolean) | null = null;
  loadFails = false;
  readonly desktop: Desktop = {
    app: this.app as unknown as Desktop['app'],
    BrowserWindow: FakeWindow as unknown as new (options: BrowserWindowConstructorOptions) => BrowserWindow,
    session: {
      defaultSession: {
        setPermissionRequestHandler: (handler: FakeRuntime['permissionRequest']) => {
          this.permissionRequest = handler;
        },
        setPermissionCheckHandler: (handler: FakeRuntime['permissionCheck']) => {
          this.permissionCheck = handler;
        },
      } as unknown as Session,
    },
  };
}

let runtime = new FakeRuntime();

function start(): { line: (message: unknown) => Promise<void>; said: string[] } {
  runtime = new FakeRuntime();
  const lines = new EventEmitter();
  const said: string[] = [];
  runDesktop(runtime.desktop, lines, (line) => said.push(line));
  return {
    said,
    async line(message) {
      lines.emit('line', typeof message === 'string' ? message : JSON.stringify(message));
      await turn();
    },
  };
}

const address = 'http://127.0.0.1:40123/?token=abc';

function firstWindow(): FakeWindow {
  const [window] = runtime.windows;
  if (window === undefined) throw new Error('no window was opened');
  return window;
}

/** Whether a navigation of this kind was refused. */
function refused(event: string, target: string): boolean {
  let prevented = false;
  firstWindow().webContents.emit(event, { preventDefault: () => (prevented = true) }, target);
  return prevented;
}

describe('the desktop rim', () => {
  it('opens one window on the address it is told, and says so', async () => {
    const { line, said } = start();
    expect(runtime.windows).toHaveLength(0);
    await line({ show: address });
    expect(runtime.windows).toHaveLength(1);
    expect(firstWindow().webContents.url).toBe(address);
    expect([firstWindow().shown, said]).toEqual([1, ['shown']]);
  });

  it('takes a second address into the same window, and opens a new one when that is gone', async () => {
    const { line } = start();
    await line({ show: address });
    await line({ show: 'http://127.0.0.1:40123/?token=def' });
    expect(runtime.windows).toHaveLength(1);
    firstWindow().destroyed = true;
    await line({ show: address });
    expect(runtime.windows).toHaveLength(2);
  });

  it('gives pages nothing of Node and keeps timers of hidden windows running', async () => {
    const { line } = start();
    await line({ show: address });
    expect(firstWindow().options.webPreferences).toMatchObject({
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      contextIsolation: true,
      sandbox: true,
      webSecurity: true,
      webviewTag: false,
      allowRunningInsecureContent: false,
      backgroundThrottling: false,
    });
    expect(firstWindow().options.webPreferences).not.toHaveProperty('preload');
    expect(runtime.app.sandboxed).toBe(true);
  });

  it('stays on the door that it was loaded from', async () => {
    const { line } = start();
    await line({ show: address });
    for (const event of ['will-navigate', 'will-redirect']) {
      expect(refused(event, 'http://127.0.0.1:40123/#/rig')).toBe(false);
      for (const elsewhere of ['http://127.0.0.1:40124/', 'https://example.org/', 'file:///etc/hosts', 'nonsense']) {
        expect(refused(event, elsewhere)).toBe(true);
      }
    }
    expect(refused('will-attach-webview', address)).toBe(true);
    expect(firstWindow().webContents.openHandler?.({ url: address })).toEqual({ action: 'deny' });
  });

  it('grants no permission', async () => {
    const { line } = start();
    await line({ show: address });
    const granted: boolean[] = [];
    runtime.permissionRequest?.(null, 'media', (answer) => granted.push(answer));
    expect([granted, runtime.permissionCheck?.()]).toEqual([[false], false]);
  });

  it.each([
    'https://127.0.0.1:40123/',
    'http://localhost:40123/',
    'http://127.0.0.1/',
    'http://192.0.2.7:40123/',
    'file:///index.html',
    7,
    'nonsense',
  ])('shows nothing but loopback: %s', async (show) => {
    const { line, said } = start();
    await line({ show });
    expect([runtime.windows.length, said]).toEqual([0, []]);
  });

  it('leaves with 3 when the page cannot be loaded, so that a browser takes over', async () => {
    const { line, said } = start();
    runtime.loadFails = true;
    await line({ show: address });
    expect([runtime.app.ended, said]).toEqual([[3], []]);
  });

  it('ends with its last window and when the host says so, and stands lines that mean nothing', async () => {
    const { line } = start();
    await line('not json');
    await line('null');
    await line('7');
    expect(runtime.app.ended).toEqual([]);
    await line({ end: true });
    runtime.app.emit('window-all-closed');
    expect(runtime.app.ended).toEqual(['quit', 'quit']);
  });
});
