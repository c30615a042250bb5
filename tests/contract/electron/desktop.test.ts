import { EventEmitter } from 'node:events';
import { setImmediate as turn } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { runDesktop } from '../../../electron/desktop.ts';
import { exposePageBridge, stopKeyChannel, type PageBridge } from '../../../electron/page-bridge.ts';
import { stopKey, type StopKeyState } from '../../../electron/trial-guard.ts';
import { FakeRuntime, FakeWindow, prevented } from '../../support/desktop/fake-runtime.ts';

/** The rim, started by a host, against the stand-in for the runtime. */
let runtime = new FakeRuntime();

function start(): { line: (message: unknown) => Promise<void>; said: string[] } {
  runtime = new FakeRuntime();
  const lines = new EventEmitter();
  const said: string[] = [];
  const link = {
    onLine: (listener: (line: string) => void) => void lines.on('line', listener),
    say: (word: string) => void said.push(word),
  };
  runDesktop(runtime.desktop, link, '/place/desktop-preload.cjs', null);
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
  return prevented((details) => firstWindow().webContents.emit(event, details, target));
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
      experimentalFeatures: false,
      navigateOnDragDrop: false,
      backgroundThrottling: false,
    });
    expect(firstWindow().options.webPreferences?.preload).toBe('/place/desktop-preload.cjs');
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
    const frame = (url: string): boolean =>
      prevented((event) => firstWindow().webContents.emit('will-frame-navigate', { ...event, url }));
    expect([frame('http://127.0.0.1:40123/x'), frame('https://example.org/')]).toEqual([false, true]);
    expect(refused('will-attach-webview', address)).toBe(true);
    expect(firstWindow().webContents.openHandler?.({ url: address })).toEqual({ action: 'deny' });
  });

  it("opens the subject's display of the same door and nothing else, locked, and takes it along", async () => {
    const { line } = start();
    await line({ show: address });
    const open = (url: string) => firstWindow().webContents.openHandler?.({ url });
    expect(open('http://127.0.0.1:40123/#/subject')).toMatchObject({
      action: 'allow',
      overrideBrowserWindowOptions: { show: true, webPreferences: { sandbox: true, nodeIntegration: false } },
    });
    for (const other of ['http://127.0.0.1:40124/#/subject', 'http://127.0.0.1:40123/#/rig', 'nonsense']) {
      expect(open(other)).toEqual({ action: 'deny' });
    }
    const display = new FakeWindow(runtime, {});
    firstWindow().webContents.emit('did-create-window', display);
    expect(display.webContents.openHandler?.({ url: address })).toEqual({ action: 'deny' });
    const leaves = prevented((event) => display.webContents.emit('will-navigate', event, 'https://example.org/'));
    expect([leaves, display.destroyed]).toEqual([true, false]);
    firstWindow().destroy();
    expect(display.destroyed).toBe(true);
  });

  it('grants no permission', async () => {
    const { line } = start();
    await line({ show: address });
    const granted: boolean[] = [];
    const { session } = runtime;
    session.permissionRequest?.(null, 'media', (answer) => granted.push(answer));
    expect([granted, session.permissionCheck?.(), session.devicePermission?.()]).toEqual([[false], false, false]);
  });

  it.each([
    'https://127.0.0.1:40123/',
    'http://localhost:40123/',
    'http://127.0.0.1/',
    'http://192.0.2.7:40123/',
    'http://somebody@127.0.0.1:40123/',
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

  it('lets a page of the door save where the person says, under a plain name, and nobody else', async () => {
    const { line } = start();
    await line({ show: address });
    const options: unknown[] = [];
    const offered = (url: string, name: string): boolean => {
      const setSaveDialogOptions = (chosen: unknown): number => options.push(chosen);
      const item = { getURL: () => url, getFilename: () => name, setSaveDialogOptions };
      return !prevented((event) => runtime.session.emit('will-download', event, item));
    };
    expect(offered('blob:http://127.0.0.1:40123/6f1c', '../../trial.pdf')).toBe(true);
    expect(offered('http://127.0.0.1:40123/x', '..')).toBe(true);
    expect(options).toMatchObject([{ defaultPath: 'trial.pdf' }, { defaultPath: 'chamberside' }]);
    for (const elsewhere of ['https://example.org/x', 'blob:null/1', 'file:///etc/hosts', 'data:,x']) {
      expect(offered(elsewhere, 'x')).toBe(false);
    }
    expect(options).toHaveLength(2);
  });

  it('has a menu without tools, without loading again, and without a choice of folder', async () => {
    const { line } = start();
    await line({ show: address });
    const entries = runtime.menu.flatMap(({ submenu }) => (Array.isArray(submenu) ? submenu : []));
    const roles = entries.map(({ role }) => role);
    for (const role of ['reload', 'forceReload', 'toggleDevTools'] as const) expect(roles).not.toContain(role);
    expect(entries.filter(({ click }) => click !== undefined)).toEqual([]);
    expect(entries.filter(({ accelerator }) => accelerator !== undefined)).toEqual([]);
  });
});

describe('while a trial is under way', () => {
  async function inTrial(keyTaken: FakeRuntime['keyTaken'] = 'no'): Promise<ReturnType<typeof start>> {
    const started = start();
    runtime.keyTaken = keyTaken;
    await started.line({ show: address });
    await started.line({ trial: true });
    return started;
  }
  const toldPage = (): unknown => firstWindow().webContents.sent.at(-1);

  it('keeps the screen awake and the stop key in reach, and gives both back afterwards', async () => {
    const { line, said } = await inTrial();
    expect(runtime.blockerKinds).toEqual(['prevent-display-sleep']);
    expect([runtime.blockers.size, [...runtime.keys.keys()]]).toEqual([1, [stopKey]]);
    expect(toldPage()).toEqual([stopKeyChannel, 'on']);
    runtime.keys.get(stopKey)?.();
    expect(said).toEqual(['shown', 'stop']);
    await line({ trial: true });
    expect(runtime.blockerKinds).toHaveLength(1);
    await line({ trial: false });
    expect([runtime.blockers.size, runtime.keys.size, toldPage()]).toEqual([0, 0, [stopKeyChannel, 'off']]);
  });

  it.each(['by another', 'throws'] as const)('tells the page when the stop key is not to be had: %s', async (taken) => {
    await inTrial(taken);
    expect(toldPage()).toEqual([stopKeyChannel, 'refused']);
    // Also a page that comes later.
    firstWindow().webContents.sent.length = 0;
    firstWindow().webContents.emit('did-finish-load');
    expect(toldPage()).toEqual([stopKeyChannel, 'refused']);
  });

  it('asks before its window closes, once, in front of no window, and stays unless told otherwise', async () => {
    await inTrial();
    firstWindow().close();
    firstWindow().close();
    expect([runtime.asked.length, firstWindow().destroyed]).toEqual([1, false]);
  });

  it('stays when the answer is to keep the window, and can be asked again', async () => {
    await inTrial();
    runtime.answer = 0;
    firstWindow().close();
    await turn();
    firstWindow().close();
    await turn();
    expect([runtime.asked.length, firstWindow().destroyed, runtime.app.ended]).toEqual([2, false, []]);
  });

  it('closes when the answer is to close, and gives everything back', async () => {
    await inTrial();
    runtime.answer = 1;
    firstWindow().close();
    await turn();
    expect([firstWindow().destroyed, runtime.app.ended]).toEqual([true, ['quit']]);
    expect([runtime.blockers.size, runtime.keys.size]).toEqual([0, 0]);
  });

  it('asks nothing when the host ends it, because the host has held the trial', async () => {
    const { line } = await inTrial();
    await line({ end: true });
    expect([runtime.asked, runtime.app.ended]).toEqual([[], ['quit']]);
    expect([runtime.blockers.size, runtime.keys.size]).toEqual([0, 0]);
  });
});

describe('what a page can reach', () => {
  it('is one function that tells it of the stop key', () => {
    const worlds: Record<string, unknown> = {};
    const messages = new EventEmitter();
    exposePageBridge(
      { exposeInMainWorld: (key: string, api: unknown) => void (worlds[key] = api) },
      messages as unknown as Parameters<typeof exposePageBridge>[1],
    );
    expect(Object.keys(worlds)).toEqual(['chambersideDesktop']);
    const page = worlds['chambersideDesktop'] as PageBridge;
    expect(Object.keys(page)).toEqual(['onStopKey']);
    messages.emit(stopKeyChannel, {}, 'refused');
    messages.emit(stopKeyChannel, {}, { anything: 'else' });
    const told: StopKeyState[] = [];
    page.onStopKey((state) => told.push(state));
    messages.emit(stopKeyChannel, {}, 'off');
    expect(told).toEqual(['refused', 'off']);
  });
});
