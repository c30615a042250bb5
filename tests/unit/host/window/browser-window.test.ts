import { describe, expect, it } from 'vitest';
import { browserCommands, onSearchPath, type Machine } from '../../../../src/host/window/browser-window.ts';

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
