import { existsSync, writeFileSync } from 'node:fs';
import { once } from 'node:events';
import { createServer, type AddressInfo } from 'node:net';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { arrivalMilliseconds, serve, type ServeOptions } from '../../../../src/host/cli/serve.ts';
import { ChambersideError } from '../../../../src/model/error-code.ts';
import type { WindowOpener } from '../../../../src/host/window/window-opener.ts';
import { temporaryFolder } from '../../../support/command-line.ts';
import { ask, enter, testScreens } from '../../../support/doors/browser-peer.ts';
import { createTestHost, type TestHost } from '../../../support/doors/test-host.ts';

describe('a served host', () => {
  let folder: ReturnType<typeof temporaryFolder>;
  let host: TestHost;
  let lines: string[];
  let notes: string[];
  let closed: number;
  let end: (reason: string) => void;
  let served: Promise<number>;
  let leaveAlone: (trialUnderWay: boolean) => void = () => undefined;

  const begin = (options: Partial<ServeOptions> = {}, interactive = false): void => {
    const ended = new Promise<string>((resolve) => {
      end = resolve;
    });
    const output = { line: (text: string) => lines.push(text), note: (text: string) => notes.push(text), interactive };
    const onAlone = (listener: typeof leaveAlone): (() => void) => {
      leaveAlone = listener;
      return () => (leaveAlone = () => undefined);
    };
    const create = async () => ({ ...host.host, onAlone, close: async () => void (closed += 1) });
    served = serve(
      {
        folder: folder.path,
        port: 0,
        json: false,
        openers: [],
        wantsWindow: false,
        virtualRig: null,
        files: testScreens,
        ...options,
      },
      create,
      output,
      ended,
    );
    served.catch(() => undefined);
  };
  const addressIn = (text: string | undefined): string => /http:\S+/.exec(text ?? '')?.[0] ?? 'no address';
  const opener = (name: string, works: boolean, seen: string[]): WindowOpener => ({
    name,
    open: async (address) => {
      seen.push(`${name} ${address}`);
      return works;
    },
    close: () => void seen.push(`${name} closed`),
  });

  beforeEach(() => {
    folder = temporaryFolder();
    host = createTestHost();
    [lines, notes, closed] = [[], [], 0];
  });

  afterEach(async () => {
    end('test');
    await served.catch(() => undefined);
    folder.clear();
  });

  it('says its address in one line of JSON, serves it, and ends cleanly', async () => {
    begin({ json: true });
    await vi.waitFor(() => expect(lines).toHaveLength(1));
    const said = JSON.parse(lines[0] ?? '') as { url: string; folder: string; processId: number; port: number };
    expect(said).toMatchObject({ folder: folder.path, processId: process.pid });
    expect((await enter(said.url)).secret).toMatch(/^[\w-]{43}$/);
    expect(notes).toEqual([]);
    end('SIGTERM');
    expect(await served).toBe(0);
    expect([lines.length, closed]).toEqual([1, 1]);
    await expect(ask(said.port, '/')).rejects.toThrow('ECONNREFUSED');
    expect(existsSync(join(folder.path, 'host.json'))).toBe(false);
  });

  it('prints an address for a person when no window is wanted', async () => {
    begin();
    await vi.waitFor(() => expect(notes).toHaveLength(1));
    expect((await enter(addressIn(notes[0]))).secret).toMatch(/^[\w-]{43}$/);
  });

  it('tries one way after another to open a window, each with an address of its own', async () => {
    const seen: string[] = [];
    const openers = [opener('desktop', false, seen), opener('browser', true, seen), opener('other', true, seen)];
    begin({ wantsWindow: true, openers });
    await vi.waitFor(() => expect(notes).toHaveLength(1));
    expect(seen.map((each) => each.split(' ')[0])).toEqual(['desktop', 'browser']);
    expect(addressIn(seen[0])).not.toBe(addressIn(seen[1]));
    expect(notes[0]).toContain('Opened browser');
    end('SIGINT');
    await served;
    expect(seen.slice(2)).toEqual(['desktop closed', 'browser closed', 'other closed']);
  });

  it('tries the next way when a window that was opened never comes to the door', async () => {
    vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'], shouldAdvanceTime: true });
    try {
      const seen: string[] = [];
      begin({ wantsWindow: true, openers: [opener('desktop', true, seen), opener('browser', true, seen)] });
      await vi.waitFor(() => expect(notes).toHaveLength(1));
      await vi.advanceTimersByTimeAsync(arrivalMilliseconds);
      await vi.waitFor(() => expect(seen).toHaveLength(2));
      expect(notes[1]).toContain('desktop has not come to the recorder');
      await vi.advanceTimersByTimeAsync(arrivalMilliseconds);
      expect([seen.length, notes.at(-1)]).toEqual([2, expect.stringContaining('No window has come up yet')]);
    } finally {
      vi.useRealTimers();
    }
  });

  it('goes on to the next way when one throws', async () => {
    const seen: string[] = [];
    const broken: WindowOpener = {
      ...opener('desktop', false, seen),
      open: () => Promise.reject(new Error('EEXIST: file already exists')),
    };
    begin({ wantsWindow: true, openers: [broken, opener('browser', true, seen)] });
    await vi.waitFor(() => expect(notes[0]).toContain('Opened browser'));
    end('test');
    await served;
    begin({ wantsWindow: true, openers: [broken] });
    await vi.waitFor(() => expect(notes.join()).toContain('No window could be opened: desktop: EEXIST'));
    expect((await enter(addressIn(notes.at(-1)))).secret).toMatch(/^[\w-]{43}$/);
  });

  it('opens another when a window is lost by a failure, and does not end for want of one meanwhile', async () => {
    const seen: string[] = [];
    let lose: () => void = () => undefined;
    let endedAlone = 0;
    const desktop: WindowOpener = { ...opener('desktop', true, seen), onLost: (listener) => void (lose = listener) };
    const openers = [desktop, opener('browser', true, seen)];
    vi.useFakeTimers({ toFake: ['setTimeout', 'clearTimeout'], shouldAdvanceTime: true });
    try {
      begin({ wantsWindow: true, openers, endsAlone: () => (endedAlone += 1) });
      await vi.waitFor(() => expect(notes).toHaveLength(1));
      await enter(addressIn(seen[0]?.split(' ')[1]));
      lose();
      await vi.waitFor(() => expect(seen.map((each) => each.split(' ')[0])).toEqual(['desktop', 'browser']));
      leaveAlone(false);
      expect(endedAlone).toBe(0);
      // It never came: then nobody is there.
      await vi.advanceTimersByTimeAsync(2 * arrivalMilliseconds);
      expect(endedAlone).toBeGreaterThan(0);
    } finally {
      vi.useRealTimers();
    }
  });

  it('prints the address when no window comes by any way', async () => {
    begin({ wantsWindow: true, openers: [opener('desktop', false, [])] });
    await vi.waitFor(() => expect(notes).toHaveLength(1));
    expect((await enter(addressIn(notes[0]))).secret).toMatch(/^[\w-]{43}$/);
  });

  it('says why no window came, each reason once, before the address', async () => {
    const failing = (reason: string): WindowOpener => ({ ...opener('one', false, []), whyNot: () => reason });
    const openers = ['no screen', 'no screen', 'chromium ended at once'].map(failing);
    begin({ wantsWindow: true, openers });
    await vi.waitFor(() => expect(notes).toHaveLength(2));
    expect(notes[0]).toBe('No window could be opened: no screen; chromium ended at once.');
    expect((await enter(addressIn(notes[1]))).secret).toMatch(/^[\w-]{43}$/);
  });

  it('rings, says a new address and opens a new window when the last one goes in a trial', async () => {
    const seen: string[] = [];
    begin({ wantsWindow: true, openers: [opener('browser', true, seen)] }, true);
    await vi.waitFor(() => expect(seen).toHaveLength(1));
    leaveAlone(true);
    await vi.waitFor(() => expect(seen).toHaveLength(2));
    const alarm = notes.find((note) => note.includes('NO WINDOW IS LEFT'));
    expect(alarm?.startsWith('\u0007')).toBe(true);
    expect((await enter(addressIn(seen[1]))).secret).toMatch(/^[\w-]{43}$/);
  });

  it('goes on without a window, or ends as whoever runs it wants, when no trial is under way', async () => {
    begin();
    await vi.waitFor(() => expect(notes).toHaveLength(1));
    leaveAlone(false);
    expect(notes[1]).toContain('the host goes on');
    expect((await enter(addressIn(notes[1]))).secret).toMatch(/^[\w-]{43}$/);
    end('test');
    await served;
    let endedAlone = 0;
    begin({ endsAlone: () => (endedAlone += 1) });
    await vi.waitFor(() => expect(notes).toHaveLength(3));
    leaveAlone(false);
    expect([endedAlone, notes.length]).toEqual([1, 3]);
  });

  it('refuses a folder that another host has, and says which process', async () => {
    begin({ json: true });
    await vi.waitFor(() => expect(lines).toHaveLength(1));
    const output = { line: () => undefined, note: () => undefined, interactive: false };
    const options = { port: 0, json: true, openers: [], wantsWindow: false, virtualRig: null, files: testScreens };
    const create = async () => ({ ...host.host, onAlone: () => () => undefined, close: async () => undefined });
    const second = serve({ folder: folder.path, ...options }, create, output, Promise.resolve('at once'));
    const error: unknown = await second.then(
      () => null,
      (reason: unknown) => reason,
    );
    if (!(error instanceof ChambersideError)) throw new Error('it was not refused');
    expect(error.code).toBe('folder-in-use');
    expect(error.message).toContain(`process ${process.pid}`);
    // The one that came first is untouched.
    expect((await enter((JSON.parse(lines[0] ?? '') as { url: string }).url)).secret).toMatch(/^[\w-]{43}$/);
  });

  it('leaves nothing behind when it cannot begin', async () => {
    begin({ json: true, virtualRig: { scenario: 'demo', seed: 1 } });
    await expect(served).rejects.toThrow('No rig is open');
    expect([lines.length, closed]).toEqual([0, 1]);
    expect(existsSync(join(folder.path, 'host.json'))).toBe(false);
    begin({ json: true });
    await vi.waitFor(() => expect(lines).toHaveLength(1));
  });

  it.each(['file', 'file/inside'])('says that a folder cannot be made: %s', async (name) => {
    writeFileSync(folder.file('file'), '');
    begin({ folder: folder.file(name) });
    await expect(served).rejects.toMatchObject({ code: 'folder-unusable' });
    await expect(served).rejects.toThrow(/^This is a file, .* where a folder is needed .*that can be written\.$/);
  });

  it('says that another program has the port', async () => {
    const taken = createServer().listen(0, '127.0.0.1');
    await once(taken, 'listening');
    const { port } = taken.address() as AddressInfo;
    begin({ port });
    await expect(served).rejects.toMatchObject({ code: 'port-busy', where: `127.0.0.1:${port}` });
    taken.close();
    expect(existsSync(join(folder.path, 'host.json'))).toBe(false);
  });
});
