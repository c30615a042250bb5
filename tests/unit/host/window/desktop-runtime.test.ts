import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Machine } from '../../../../src/host/window/browser-window.ts';
import { desktopWindowOpener, findDesktopRuntime } from '../../../../src/host/window/desktop-runtime.ts';
import { temporaryFolder } from '../../../support/command-line.ts';

const screen: Machine = {
  platform: 'linux',
  environment: { DISPLAY: ':0' },
  userId: 1000,
  isExecutable: () => false,
};

describe('the desktop runtime', () => {
  let folder: ReturnType<typeof temporaryFolder>;
  beforeEach(() => {
    folder = temporaryFolder();
  });
  afterEach(() => folder.clear());

  const write = (name: string, text: string): string => {
    const path = folder.file(name);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, text);
    chmodSync(path, 0o755);
    return path;
  };

  it('is there when its package was fetched whole, and the rim was built', () => {
    const entry = write('desktop.cjs', '');
    expect(findDesktopRuntime(null, entry)).toBeNull();
    expect(findDesktopRuntime(folder.path, entry)).toBeNull();
    write('path.txt', 'runtime\n');
    expect(findDesktopRuntime(folder.path, entry)).toBeNull();
    const program = write('dist/runtime', '');
    expect(findDesktopRuntime(folder.path, entry)).toEqual({ program, entry });
    expect(findDesktopRuntime(folder.path, folder.file('not-built.cjs'))).toBeNull();
  });

  it('gets the address over standard input and has shown it when it says so', async () => {
    const program = write('runtime', '#!/bin/sh\nread line\necho "$line" > "$0.got"\necho shown\nread line\n');
    const opener = desktopWindowOpener({ program, entry: 'unused' }, screen);
    expect(await opener.open('http://127.0.0.1:1/?token=x')).toBe(true);
    opener.close();
  });

  it.each([
    ['ends at once', '#!/bin/sh\nexit 3\n'],
    ['says something else and ends', '#!/bin/sh\necho hello\nexit 0\n'],
  ])('has not shown a window when it %s', async (_, script) => {
    const opener = desktopWindowOpener({ program: write('runtime', script), entry: 'unused' }, screen);
    expect(await opener.open('http://127.0.0.1:1/?token=x')).toBe(false);
  });

  it('is not tried when it does not run, or there is no screen', async () => {
    const missing = desktopWindowOpener({ program: folder.file('none'), entry: 'unused' }, screen);
    expect(await missing.open('http://127.0.0.1:1/')).toBe(false);
    const program = write('runtime', '#!/bin/sh\necho shown\nread line\n');
    const blind = desktopWindowOpener({ program, entry: 'unused' }, { ...screen, environment: {} });
    expect(await blind.open('http://127.0.0.1:1/')).toBe(false);
  });
});
