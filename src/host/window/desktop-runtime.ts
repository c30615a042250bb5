import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { hasScreen, noScreen, thisMachine, type Machine } from './browser-window.ts';
import { rimWindowOpener, type RimLink, type RimMessage } from './rim-link.ts';
import type { WindowOpener } from './window-opener.ts';

/** What the desktop runtime is started with. */
export interface DesktopRuntime {
  readonly program: string;
  /** The rim's bundle. */
  readonly entry: string;
}

/**
 * The desktop runtime, where it is installed. It is looked for on disk and never loaded: loading its package would
 * fetch the runtime over the network.
 * @param packageFolder of the runtime's package; null: where Node finds it, if it does.
 * @param entry the rim's bundle.
 */
export function findDesktopRuntime(packageFolder: string | null, entry: string): DesktopRuntime | null {
  if (packageFolder === null || !existsSync(entry)) return null;
  try {
    const program = join(packageFolder, 'dist', readFileSync(join(packageFolder, 'path.txt'), 'utf8').trim());
    return existsSync(program) ? { program, entry } : null;
  } catch {
    // No such note, or nothing that can be read: not installed, or not wholly.
    return null;
  }
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
 * The window of the desktop program, started by this host. The address goes over standard input, because words of a
 * command can be read by other users.
 */
export function desktopWindowOpener(runtime: DesktopRuntime, machine: Machine = thisMachine): WindowOpener {
  // Without a screen it would only crash.
  const opener = rimWindowOpener(() => (hasScreen(machine) ? startRim(runtime, machine) : null));
  return { ...opener, whyNot: () => (hasScreen(machine) ? 'the desktop window did not come up' : noScreen) };
}

function startRim(runtime: DesktopRuntime, machine: Machine): RimLink {
  const words = machine.userId === 0 ? ['--no-sandbox', runtime.entry] : [runtime.entry];
  const child = spawn(runtime.program, words, { stdio: ['pipe', 'pipe', 'ignore'], shell: false });
  const lines = createInterface({ input: child.stdout });
  child.stdin.on('error', () => undefined);
  const send = (message: RimMessage): void => void child.stdin.write(`${JSON.stringify(message)}\n`);
  return {
    send,
    onWord: (listener) => void lines.on('line', listener),
    onGone(listener) {
      let told = false;
      const tell = (): void => {
        if (!told) listener();
        told = true;
      };
      child.once('exit', tell);
      child.once('error', tell);
    },
    giveUp: () => void child.kill(),
    end() {
      send({ end: true });
      child.stdin.end();
      child.unref();
    },
  };
}
