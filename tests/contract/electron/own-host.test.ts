import { spawn } from 'node:child_process';
import { constants, getPriority } from 'node:os';
import { setImmediate as turn } from 'node:timers/promises';
import type { MenuItemConstructorOptions } from 'electron';
import { describe, expect, it, vi } from 'vitest';
import { loadMilliseconds, runDesktop } from '../../../electron/desktop.ts';
import { createOwnHost, endMilliseconds, folderOfStudy, goodRunMilliseconds } from '../../../electron/own-host.ts';
import { FakeHost, FakeRuntime } from '../../support/desktop/fake-runtime.ts';

/** The rim of a packaged program, which starts its host itself, against the stand-in for the runtime. */
const address = 'http://127.0.0.1:40123/?token=abc';
const places = { entry: '/place/chamberside.js', sqlite: '/place/better_sqlite3.node' };
let runtime = new FakeRuntime();
const fails = (): never => {
  throw new Error('broken on purpose');
};

async function start(prepare: (fresh: FakeRuntime) => void = () => undefined): Promise<FakeHost> {
  runtime = new FakeRuntime();
  prepare(runtime);
  const own = createOwnHost(runtime.desktop, places, { HOME: '/home' }, (status) => runtime.app.exit(status));
  runDesktop(runtime.desktop, own, '/place/desktop-preload.cjs', own);
  await turn();
  return newest();
}

function newest(): FakeHost {
  return runtime.hosts.at(-1) ?? new FakeHost('none', [], {});
}

function openStudy(): MenuItemConstructorOptions | undefined {
  const entries = runtime.menu.flatMap(({ submenu }) => (Array.isArray(submenu) ? submenu : []));
  return entries.find(({ click }) => click !== undefined);
}

async function choose(path: string): Promise<void> {
  runtime.chosen = [path];
  (openStudy()?.click as (() => void) | undefined)?.();
  await turn();
}

describe('a rim with a host of its own', () => {
  it('starts it as a utility process with the native part of SQLite by path, and shows its door', async () => {
    const host = await start();
    expect([host.entry, host.words]).toEqual([places.entry, ['start', '--desktop']]);
    expect(host.options.env).toEqual({ HOME: '/home', CHAMBERSIDE_SQLITE: places.sqlite });
    await host.says({ show: address });
    expect([runtime.windows[0]?.webContents.url, host.got]).toEqual([address, ['shown']]);
  });

  it.each([
    ['the menu', (fresh: FakeRuntime) => (fresh.desktop.Menu.buildFromTemplate = fails)],
    ['the guard of the session', (fresh: FakeRuntime) => (fresh.session.setPermissionCheckHandler = fails)],
  ])('opens no window of its own without %s, and has a browser opened', async (_what, breakIt) => {
    const host = await start(breakIt);
    expect(host.words).toEqual(['start', '--desktop']);
    await host.says({ show: address });
    expect([runtime.windows, host.got]).toEqual([[], ['failed']]);
    await host.says({ trial: true });
    expect(runtime.app.ended).toEqual([]);
  });

  it.each([
    ['its host', (fresh: FakeRuntime) => (fresh.desktop.utilityProcess.fork = fails)],
    [
      'a runtime',
      (fresh: FakeRuntime) => {
        fresh.app.whenReady = () => Promise.reject(new Error('no display'));
        fresh.desktop.utilityProcess.fork = fails;
      },
    ],
  ])('says so and ends when there is no starting %s', async (_what, breakIt) => {
    await start(breakIt);
    await turn();
    expect([runtime.hosts, runtime.windows, runtime.app.ended]).toEqual([[], [], [1]]);
    expect(runtime.errors).toHaveLength(1);
    expect(runtime.errors[0]?.[1]).toContain('broken on purpose');
  });

  it('has a browser opened when the page never loads, or its process is gone', async () => {
    const host = await start();
    await host.says({ show: address });
    expect(host.got).toEqual(['shown']);
    runtime.windows[0]?.webContents.emit('render-process-gone');
    expect([runtime.windows[0]?.destroyed, host.got]).toEqual([true, ['shown', 'failed']]);
    vi.useFakeTimers();
    try {
      const other = await start((fresh) => (fresh.loadHangs = true));
      await other.says({ show: address });
      await vi.advanceTimersByTimeAsync(loadMilliseconds - 1);
      expect(other.got).toEqual([]);
      await vi.advanceTimersByTimeAsync(1);
      expect([other.got, runtime.windows[0]?.destroyed]).toEqual([['failed'], true]);
    } finally {
      vi.useRealTimers();
    }
  });

  it('has its stop key though the screen cannot be kept awake', async () => {
    const host = await start((fresh) => (fresh.desktop.powerSaveBlocker.start = fails));
    await host.says({ show: address });
    await host.says({ trial: true });
    expect(runtime.keys.size).toBe(1);
    expect(runtime.windows[0]?.webContents.sent.at(-1)).toContain('on');
    await host.says({ trial: false });
    expect(runtime.keys.size).toBe(0);
  });

  it('ranks the page below its host, and shows it where that is not allowed', async () => {
    const page = spawn(process.execPath, ['-e', 'setTimeout(() => undefined, 60_000)'], { stdio: 'ignore' });
    try {
      const host = await start();
      await host.says({ show: address });
      expect(host.got).toEqual(['shown']);
      const contents = runtime.windows[0]?.webContents;
      if (contents === undefined || page.pid === undefined) throw new Error('there is no page');
      contents.processId = page.pid;
      contents.emit('did-finish-load');
      expect(getPriority(page.pid)).toBe(constants.priority.PRIORITY_BELOW_NORMAL);
    } finally {
      page.kill();
    }
  });

  it('runs once: a second start shows the window of the first', async () => {
    await start((fresh) => (fresh.app.first = false));
    expect([runtime.hosts.length, runtime.app.ended]).toEqual([0, [0]]);
    const host = await start();
    await host.says({ show: address });
    runtime.app.emit('second-instance');
    expect(runtime.windows[0]).toMatchObject({ shown: 2, focused: 1 });
  });

  it('ends after its host, however long that takes, and never in the middle of a record', async () => {
    const host = await start();
    await host.says({ show: address });
    runtime.windows[0]?.close();
    await turn();
    expect([host.got, runtime.app.ended]).toEqual([['shown', 'end'], []]);
    await host.says({ end: true });
    expect(runtime.app.ended).toEqual([]);
    await host.exits(0);
    expect(runtime.app.ended).toEqual(['quit']);
  });

  it('asks before it ends while a trial is under way, by the window and by the menu', async () => {
    const host = await start();
    await host.says({ show: address });
    await host.says({ trial: true });
    runtime.answer = 0;
    runtime.windows[0]?.close();
    await turn();
    runtime.app.quit();
    await turn();
    expect([runtime.asked.length, host.got, runtime.app.ended]).toEqual([2, ['shown'], []]);
    runtime.answer = 1;
    runtime.app.quit();
    await turn();
    expect([host.got.at(-1), runtime.app.ended]).toEqual(['end', []]);
    await host.exits(0);
    expect(runtime.app.ended).toEqual(['quit']);
  });

  it('says so when no page can be shown, and leaves the host to open a browser', async () => {
    const host = await start((fresh) => (fresh.loadFails = true));
    await host.says({ show: address });
    expect([host.got, runtime.app.ended]).toEqual([['failed'], []]);
    // The browser's last window has gone, and the host has ended.
    await host.exits(0);
    expect([runtime.app.ended, runtime.hosts.length, runtime.errors]).toEqual([[0], 1, []]);
  });

  it('starts a host again that was lost, three times, and then shows what it said', async () => {
    await start();
    for (let lost = 0; lost < 3; lost += 1) await newest().exits(9);
    expect([runtime.hosts.length, runtime.errors]).toEqual([4, []]);
    newest().stderr.emit('data', Buffer.from('folder-in-use: another host\n'));
    await newest().exits(1);
    expect(runtime.hosts).toHaveLength(4);
    expect(runtime.errors[0]?.[1]).toContain('folder-in-use: another host');
    expect(runtime.app.ended).toEqual([1]);
  });

  it('counts a host that has run for long as good: what ends it is something new', async () => {
    await start();
    for (let lost = 0; lost < 3; lost += 1) await newest().exits(9);
    vi.useFakeTimers({ toFake: ['performance'] });
    try {
      await newest().exits(9);
      expect(runtime.errors).toHaveLength(1);
      await start();
      for (let lost = 0; lost < 3; lost += 1) await newest().exits(9);
      vi.advanceTimersByTime(goodRunMilliseconds + 1);
      for (let lost = 0; lost < 4; lost += 1) await newest().exits(9);
      expect([runtime.hosts.length, runtime.errors]).toEqual([8, []]);
    } finally {
      vi.useRealTimers();
    }
  });

  it('says so when its host ends well before it has said anything', async () => {
    await start();
    for (let lost = 0; lost < 4; lost += 1) await newest().exits(0);
    expect([runtime.hosts.length, runtime.errors.length, runtime.app.ended]).toEqual([4, 1, [1]]);
  });

  it('asks what to do with a host that does not end, and ends it when told so', async () => {
    const host = await start();
    await host.says({ show: address });
    vi.useFakeTimers();
    try {
      runtime.answer = 0;
      runtime.app.quit();
      await vi.advanceTimersByTimeAsync(endMilliseconds - 1);
      expect(runtime.asked).toEqual([]);
      await vi.advanceTimersByTimeAsync(1);
      expect([runtime.asked.length, host.killed, runtime.app.ended]).toEqual([1, 0, []]);
      runtime.answer = 1;
      await vi.advanceTimersByTimeAsync(endMilliseconds);
      expect([runtime.asked.length, host.killed, runtime.app.ended]).toEqual([2, 1, []]);
      host.emit('exit', 0);
      await vi.advanceTimersByTimeAsync(10 * endMilliseconds);
      expect([runtime.asked.length, runtime.app.ended]).toEqual([2, ['quit']]);
    } finally {
      vi.useRealTimers();
    }
  });

  it('gives back what a trial took when its host is lost in it', async () => {
    const host = await start();
    await host.says({ trial: true });
    expect([runtime.blockers.size, runtime.keys.size]).toEqual([1, 1]);
    await host.exits(9);
    expect([runtime.blockers.size, runtime.keys.size]).toEqual([0, 0]);
  });

  it('opens the folder of a study that was chosen with a new host, after the first has ended', async () => {
    const host = await start();
    await host.says({ show: address });
    await choose('/data/clothing/first.chamberside');
    expect([host.got.at(-1), runtime.hosts.length]).toEqual(['end', 1]);
    await host.says({ end: true });
    await host.exits(0);
    expect([runtime.hosts.length, newest().words]).toEqual([2, ['start', '--desktop', '--folder', '/data/clothing']]);
    expect(runtime.app.ended).toEqual([]);
  });

  it('starts no new host for another folder when it was asked to end meanwhile', async () => {
    const host = await start();
    await host.says({ show: address });
    await choose('/data/clothing/first.chamberside');
    runtime.app.quit();
    await host.exits(0);
    await turn();
    expect([runtime.hosts.length, runtime.app.ended]).toEqual([1, ['quit']]);
  });

  it('offers no other folder while a trial is under way, and takes none that was chosen meanwhile', async () => {
    const host = await start();
    expect(openStudy()?.enabled).toBe(true);
    await host.says({ trial: true });
    expect(openStudy()?.enabled).toBe(false);
    await choose('/data/clothing/first.chamberside');
    expect([host.got, runtime.hosts.length]).toEqual([[], 1]);
  });
});

describe('a path that was chosen', () => {
  it.each([
    ['/data/a.chamberside', '/data'],
    ['a.chamberside', null],
    ['/data/a.txt', null],
    ['/data/a.chamberside\0.txt', null],
    ['/data/a\0.chamberside', null],
    ['', null],
    [undefined, null],
  ])('%j leads to the folder %j', (path, folder) => expect(folderOfStudy(path)).toBe(folder));
});
