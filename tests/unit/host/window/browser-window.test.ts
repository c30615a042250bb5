import { chmodSync, existsSync, readFileSync, writeFileSync } from 'node:fs';
import { getPriority } from 'node:os';
import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  browserCommands,
  browserWindowOpener,
  onSearchPath,
  thisMachine,
  type Machine,
} from '../../../../src/host/window/browser-window.ts';
import { windowNiceness } from '../../../../src/host/window/rank-below.ts';
import { temporaryFolder } from '../../../support/command-line.ts';

const address = 'http://127.0.0.1:1234/?token=abc';

function machine(programs: readonly string[], more: Partial<Machine> = {}): Machine {
  const environment = { PATH: '/usr/local/bin:/usr/bin', DISPLAY: ':0' };
  return { platform: 'linux', environment, userId: 1000, isExecutable: (path) => programs.includes(path), ...more };
}

const programs = (each: Machine): string[] => browserCommands(address, '/profile', each).map(({ program }) => program);

describe('how a machine shows a window', () => {
  it('as a window of a browser that can, then by the person’s own', () => {
    const [first, second, ...rest] = browserCommands(
      address,
      '/profile',
      machine(['/usr/bin/chromium', '/usr/bin/xdg-open']),
    );
    expect(rest).toEqual([]);
    expect(first?.program).toBe('/usr/bin/chromium');
    expect(first?.words).toContain(`--app=${address}`);
    expect(first?.words).toContain('--user-data-dir=/profile');
    // It asks nobody for an address but for that of this machine.
    expect(first?.words).toContain('--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost');
    expect(first?.words).not.toContain('--no-sandbox');
    expect(second).toMatchObject({ program: '/usr/bin/xdg-open', words: [address], handsOver: true });
  });

  it('by the best browser there is, wherever on the search path', () => {
    expect(programs(machine(['/usr/bin/google-chrome', '/usr/local/bin/chromium']))).toEqual([
      '/usr/local/bin/chromium',
    ]);
    expect(programs(machine(['/usr/bin/microsoft-edge']))).toEqual(['/usr/bin/microsoft-edge']);
    expect(onSearchPath(['chromium'], machine([]))).toBeNull();
  });

  it('without the sandbox as root, which chromium demands', () => {
    const [first] = browserCommands(address, '/profile', machine(['/usr/bin/chromium'], { userId: 0 }));
    expect(first?.words).toContain('--no-sandbox');
  });

  it('not at all without a screen', () => {
    const environment = { PATH: '/usr/bin' };
    expect(programs(machine(['/usr/bin/chromium', '/usr/bin/xdg-open'], { environment }))).toEqual([]);
    const wayland = { PATH: '/usr/bin', WAYLAND_DISPLAY: 'wayland-0' };
    expect(programs(machine(['/usr/bin/chromium'], { environment: wayland }))).toEqual(['/usr/bin/chromium']);
  });

  it('on macOS and Windows', () => {
    const mac = '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome';
    expect(programs(machine([mac], { platform: 'darwin' }))).toEqual([mac, '/usr/bin/open']);
    expect(programs(machine([], { platform: 'win32', userId: null }))).toEqual(['rundll32.exe']);
  });
});

describe('a browser that shows no window', () => {
  let folder: ReturnType<typeof temporaryFolder>;
  beforeEach(() => {
    folder = temporaryFolder();
  });
  afterEach(() => folder.clear());

  const opener = (environment: Machine['environment']): ReturnType<typeof browserWindowOpener> =>
    browserWindowOpener(folder.path, { ...thisMachine, platform: 'linux', environment });

  it('has died at once: the next is tried, and all of them are named', async () => {
    for (const name of ['chromium', 'xdg-open']) {
      writeFileSync(folder.file(name), '#!/bin/sh\nexit 1\n');
      chmodSync(folder.file(name), 0o755);
    }
    const dying = opener({ PATH: folder.path, DISPLAY: ':0' });
    expect(await dying.open(address)).toBe(false);
    const [chromium, own] = [folder.file('chromium'), folder.file('xdg-open')];
    expect(dying.whyNot?.()).toBe(`${chromium} and ${own} did not start, or ended at once`);
  });

  it('is not there, or has no screen', async () => {
    const none = opener({ PATH: folder.path, DISPLAY: ':0' });
    expect([await none.open(address), none.whyNot?.()]).toEqual([false, 'no browser was found on the search path']);
    const blind = opener({ PATH: folder.path });
    expect(await blind.open(address)).toBe(false);
    expect(blind.whyNot?.()).toContain('neither DISPLAY nor WAYLAND_DISPLAY is set');
  });
});

describe('a browser that is started', () => {
  const folder = temporaryFolder();
  afterAll(() => folder.clear());

  /** A program that notes its rank, and what Linux says of its session. */
  function program(name: string, end: string): void {
    const session = `cat /proc/self/autogroup > '${folder.file(`${name}.session`)}' 2>/dev/null`;
    const path = `PATH=${process.env['PATH'] ?? ''}`;
    // A browser starts its other processes some time after itself.
    const lines = ['#!/bin/sh', path, 'sleep 0.3', `nice > '${folder.file(`${name}.rank`)}'`, session, end, ''];
    writeFileSync(folder.file(name), lines.join('\n'), { mode: 0o755 });
  }
  function noted(name: string): string {
    return existsSync(folder.file(name)) ? readFileSync(folder.file(name), 'utf8') : '';
  }

  it('gives way to the host with all that it starts; the person’s own does not', async () => {
    program('chromium', 'exit 1');
    program('xdg-open', 'exit 0');
    const environment = { PATH: folder.path, DISPLAY: ':0' };
    const opener = browserWindowOpener(folder.path, { ...thisMachine, platform: 'linux', environment });
    expect(await opener.open(address)).toBe(true);
    expect(Number(noted('chromium.rank'))).toBe(Math.min(19, getPriority() + windowNiceness));
    expect(Number(noted('xdg-open.rank'))).toBe(getPriority());
    expect(noted('chromium.session')).toMatch(/^$| nice 10$/m);
  });
});
