import { EventEmitter } from 'node:events';
import { setImmediate as turn } from 'node:timers/promises';
import type {
  BrowserWindow,
  BrowserWindowConstructorOptions,
  MenuItemConstructorOptions,
  Session,
  UtilityProcess,
} from 'electron';
import type { Desktop } from '../../../electron/desktop.ts';

/**
 * A stand-in for the desktop runtime, which the machines that build this cannot have. It shows that the rim asks for
 * the right things; that Electron does them is not shown by it.
 */
export class FakeContents extends EventEmitter {
  url = '';
  openHandler: ((details: { url: string }) => { action: string }) | null = null;
  /** Of the page's process; none when 0. */
  processId = 0;
  readonly sent: unknown[][] = [];
  setWindowOpenHandler(handler: (details: { url: string }) => { action: string }): void {
    this.openHandler = handler;
  }
  getOSProcessId(): number {
    if (this.processId === 0) throw new Error('no such process');
    return this.processId;
  }
  send(...message: unknown[]): void {
    this.sent.push(message);
  }
}

export class FakeWindow extends EventEmitter {
  readonly webContents = new FakeContents();
  readonly options: BrowserWindowConstructorOptions;
  readonly #runtime: FakeRuntime;
  destroyed = false;
  shown = 0;
  focused = 0;
  constructor(runtime: FakeRuntime, options: BrowserWindowConstructorOptions) {
    super();
    this.#runtime = runtime;
    this.options = options;
    runtime.windows.push(this);
  }
  isDestroyed(): boolean {
    return this.destroyed;
  }
  async loadURL(address: string): Promise<void> {
    if (this.#runtime.loadHangs) return new Promise(() => undefined);
    if (this.#runtime.loadFails) throw new Error('ERR_CONNECTION_REFUSED');
    // The door answers a token with a redirect, while the window shows nothing yet.
    if (prevented((event) => this.webContents.emit('will-redirect', event, new URL('/', address).href)))
      throw new Error('ERR_ABORTED');
    this.webContents.url = address;
    this.webContents.emit('did-finish-load');
  }
  show(): void {
    this.shown += 1;
  }
  focus(): void {
    this.focused += 1;
  }
  close(): void {
    if (!prevented((event) => this.emit('close', event))) this.destroy();
  }
  destroy(): void {
    this.destroyed = true;
    this.emit('closed');
    if (this.#runtime.windows.every((window) => window.destroyed)) this.#runtime.app.emit('window-all-closed');
  }
}

/** Whether a listener prevented what the event is about. */
export function prevented(emit: (event: { preventDefault(): void }) => unknown): boolean {
  let stopped = false;
  emit({ preventDefault: () => (stopped = true) });
  return stopped;
}

/** A host in a utility process. */
export class FakeHost extends EventEmitter {
  readonly words: readonly string[];
  readonly options: { readonly env?: Record<string, string | undefined> };
  readonly entry: string;
  readonly got: unknown[] = [];
  readonly stdout = { resume: () => undefined };
  readonly stderr = new EventEmitter();
  constructor(entry: string, words: readonly string[], options: FakeHost['options']) {
    super();
    [this.entry, this.words, this.options] = [entry, words, options];
  }
  killed = 0;
  postMessage(message: unknown): void {
    this.got.push(message);
  }
  kill(): void {
    this.killed += 1;
  }
  async says(message: unknown): Promise<void> {
    this.emit('message', JSON.stringify(message));
    await turn();
  }
  async exits(status: number): Promise<void> {
    this.emit('exit', status);
    await turn();
  }
}

export class FakeRuntime {
  readonly windows: FakeWindow[] = [];
  readonly hosts: FakeHost[] = [];
  readonly app = Object.assign(new EventEmitter(), {
    ended: [] as (number | 'quit')[],
    sandboxed: false,
    first: true,
    whenReady: () => Promise.resolve(),
    quit: () => {
      if (!prevented((event) => this.app.emit('before-quit', event))) this.app.ended.push('quit');
    },
    exit: (code: number) => this.app.ended.push(code),
    enableSandbox: () => {
      this.app.sandboxed = true;
    },
    requestSingleInstanceLock: () => this.app.first,
  });
  readonly session = Object.assign(new EventEmitter(), {
    permissionRequest: null as
      | ((contents: null, permission: string, answer: (granted: boolean) => void) => void)
      | null,
    permissionCheck: null as (() => boolean) | null,
    devicePermission: null as (() => boolean) | null,
    setPermissionRequestHandler: (handler: FakeRuntime['session']['permissionRequest']) => {
      this.session.permissionRequest = handler;
    },
    setPermissionCheckHandler: (handler: () => boolean) => {
      this.session.permissionCheck = handler;
    },
    setDevicePermissionHandler: (handler: () => boolean) => {
      this.session.devicePermission = handler;
    },
  });
  loadFails = false;
  loadHangs = false;
  /** What the next questions are answered with: number of the button; null leaves the box open. */
  answer: number | null = null;
  readonly asked: { readonly buttons?: string[]; readonly detail?: string }[] = [];
  readonly errors: string[][] = [];
  chosen: string[] = [];
  menu: MenuItemConstructorOptions[] = [];
  keyTaken: 'no' | 'by another' | 'throws' = 'no';
  readonly keys = new Map<string, () => void>();
  readonly blockers = new Set<number>();
  readonly blockerKinds: string[] = [];

  readonly desktop: Desktop = {
    app: this.app as unknown as Desktop['app'],
    BrowserWindow: ((runtime: FakeRuntime) =>
      class extends FakeWindow {
        constructor(options: BrowserWindowConstructorOptions) {
          super(runtime, options);
        }
      })(this) as unknown as new (options: BrowserWindowConstructorOptions) => BrowserWindow,
    session: { defaultSession: this.session as unknown as Session },
    Menu: {
      buildFromTemplate: (template: MenuItemConstructorOptions[]) => template,
      setApplicationMenu: (menu: unknown) => {
        this.menu = menu as MenuItemConstructorOptions[];
      },
    } as unknown as Desktop['Menu'],
    dialog: {
      showMessageBox: (...words: unknown[]) => {
        // With a window in front the box would take that window's keys.
        if (words.length !== 1) throw new Error('the box belongs to a window');
        this.asked.push(words[0] as FakeRuntime['asked'][number]);
        return this.answer === null ? new Promise(() => undefined) : Promise.resolve({ response: this.answer });
      },
      showOpenDialog: () => Promise.resolve({ canceled: this.chosen.length === 0, filePaths: this.chosen }),
      showErrorBox: (...words: string[]) => void this.errors.push(words),
    } as unknown as Desktop['dialog'],
    globalShortcut: {
      register: (key: string, pressed: () => void) => {
        if (this.keyTaken === 'throws') throw new TypeError('no such key');
        if (this.keyTaken === 'no') this.keys.set(key, pressed);
        return this.keyTaken === 'no';
      },
      unregister: (key: string) => void this.keys.delete(key),
    },
    powerSaveBlocker: {
      start: (kind: string) => {
        this.blockerKinds.push(kind);
        this.blockers.add(this.blockerKinds.length);
        return this.blockerKinds.length;
      },
      stop: (id: number) => this.blockers.delete(id),
    },
    utilityProcess: {
      fork: (entry: string, words: string[] = [], options: FakeHost['options'] = {}) => {
        const host = new FakeHost(entry, words, options);
        this.hosts.push(host);
        return host as unknown as UtilityProcess;
      },
    },
  };
}
