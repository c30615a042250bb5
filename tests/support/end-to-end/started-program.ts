import { spawn, type ChildProcessWithoutNullStreams } from 'node:child_process';
import { join } from 'node:path';

/** The built program. */
export const program = join(import.meta.dirname, '../../../build/out/chamberside.js');

/** `chamberside start --no-window` on a folder, as a person would start it on a machine without a screen. */
export interface StartedProgram {
  readonly child: ChildProcessWithoutNullStreams;
  /** The next address that it has printed, each once; waits for it. Of many that nobody used the oldest are void. */
  address(): Promise<string>;
  /** The newest address that it has printed and nobody was given; waits for one. Those before it are let go. */
  newestAddress(): Promise<string>;
  /** Everything it has said so far. */
  readonly said: string;
  /** As a power cut does it. */
  kill(): Promise<void>;
  /** As Ctrl-C does it. */
  end(): Promise<void>;
}

/**
 * @param command what runs the program's `start`; the built program when absent.
 * @param detached in a session of its own.
 */
export function startProgram(
  folder: string,
  command: readonly string[] = [process.execPath, program, 'start'],
  detached = false,
): StartedProgram {
  const [file = '', ...words] = command;
  const child = spawn(file, [...words, '--folder', folder, '--no-window'], {
    stdio: ['pipe', 'pipe', 'pipe'],
    detached,
  });
  // The program may have ended without reading it.
  child.stdin.on('error', () => undefined);
  let said = '';
  const addresses: string[] = [];
  let wake: () => void = () => undefined;
  const take = (text: string): void => {
    said += text;
    const found = [...said.matchAll(/http:\/\/127\.0\.0\.1:\d+\/\?token=[\w-]+(?=\s)/g)].map(([address]) => address);
    for (const address of found.slice(addresses.length)) addresses.push(address);
    wake();
  };
  child.stdout.setEncoding('utf8').on('data', take);
  child.stderr.setEncoding('utf8').on('data', take);
  const gone = new Promise<void>((resolve) => {
    child.once('exit', () => resolve());
  });
  let used = 0;
  const another = async (): Promise<void> => {
    const until = Date.now() + 20_000;
    while (addresses.length <= used) {
      if (Date.now() > until) throw new Error(`no address was printed: ${said}`);
      await new Promise<void>((resolve) => {
        wake = resolve;
        setTimeout(resolve, 500);
      });
    }
  };
  return {
    child,
    get said() {
      return said;
    },
    async address() {
      await another();
      used += 1;
      return addresses[used - 1] ?? '';
    },
    async newestAddress() {
      await another();
      used = addresses.length;
      return addresses[used - 1] ?? '';
    },
    async kill() {
      child.kill('SIGKILL');
      await gone;
    },
    async end() {
      if (child.exitCode === null && child.signalCode === null) child.kill('SIGINT');
      await gone;
    },
  };
}
