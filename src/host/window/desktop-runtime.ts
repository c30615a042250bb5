import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { hasScreen, thisMachine, type Machine } from './browser-window.ts';
import type { WindowOpener } from './window-opener.ts';

/** What the desktop runtime is started with. */
export interface DesktopRuntime {
  readonly program: string;
  /** The rim's bundle. */
  readonly entry: string;
}

/** How long the first page may take to stand, ms: the runtime's own start is part of it. */
const shownMilliseconds = 20_000;

/**
 * The desktop runtime, where it is installed. It is looked for on disk and never loaded: loading its package would
 * fetch the runtime over the network.
 * @param packageFolder of the runtime's package; null: where Node finds it, if it does.
 * @param entry the rim's bundle.
 */
export function findDesktopRuntime(packageFolder: string | null, entry: string): DesktopRuntime | null {
  if (packageFolder === null || !existsSync(entry)) return null;
  const note = join(packageFolder, 'path.txt');
  if (!existsSync(note)) return null;
  const program = join(packageFolder, 'dist', readFileSync(note, 'utf8').trim());
  return existsSync(program) ? { program, entry } : null;
}

/** Folder of the runtime's package, or null. */
export function desktopPackageFolder(): string | null {
  try {
    return dirname(createRequire(import.meta.url).resolve('electron/package.json'));
  } catch {
    return null;
  }
}

/** The rim's bundle, beside the program's own. */
export function desktopEntry(): string {
  const here = import.meta.url;
  return fileURLToPath(new URL(here.endsWith('.ts') ? '../../../build/out/desktop.cjs' : './desktop.cjs', here));
}

/**
 * The window of the desktop program. The address goes over standard input, because words of a command can be read by
 * other users. Whatever goes wrong, at the start or in the runtime, counts as no window.
 */
export function desktopWindowOpener(runtime: DesktopRuntime, machine: Machine = thisMachine): WindowOpener {
  let child: ChildProcess | null = null;
  const start = (): ChildProcess => {
    const words = machine.userId === 0 ? ['--no-sandbox', runtime.entry] : [runtime.entry];
    const started = spawn(runtime.program, words, { stdio: ['pipe', 'pipe', 'ignore'], shell: false });
    const forget = (): void => {
      if (child === started) child = null;
    };
    started.once('exit', forget);
    started.once('error', forget);
    started.stdin.on('error', () => undefined);
    return started;
  };
  return {
    name: 'the desktop window',
    open(address) {
      // Without a screen it would only crash.
      if (!hasScreen(machine)) return Promise.resolve(false);
      child ??= start();
      return shows(child, address);
    },
    close() {
      child?.stdin?.end(`${JSON.stringify({ end: true })}\n`);
      child?.unref();
    },
  };
}

function shows(child: ChildProcess, address: string): Promise<boolean> {
  return new Promise((resolve) => {
    const lines = child.stdout === null ? null : createInterface({ input: child.stdout });
    const settle = (shown: boolean): void => {
      clearTimeout(patience);
      lines?.close();
      child.off('exit', gone);
      child.off('error', gone);
      if (!shown) child.kill();
      resolve(shown);
    };
    const gone = (): void => settle(false);
    const patience = setTimeout(gone, shownMilliseconds);
    lines?.on('line', (line) => {
      if (line === 'shown') settle(true);
    });
    child.once('exit', gone);
    child.once('error', gone);
    child.stdin?.write(`${JSON.stringify({ show: address })}\n`);
  });
}
