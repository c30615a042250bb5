import { createRequire } from 'node:module';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { startProgram, type StartedProgram } from '../end-to-end/started-program.ts';
import { foremost } from './foremost.ts';

const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const entry = fileURLToPath(new URL('./timed-host-process.ts', import.meta.url));

/** A program whose timer can be measured from outside. */
export interface TimedHost {
  readonly program: StartedProgram;
  /**
   * How late each of so many deadlines was, µs, in their order. One measurement at a time.
   * @param prompt as the conductor waits; else by a timer as the machine has it.
   */
  measure(count: number, spacingMicroseconds: number, prompt: boolean): Promise<readonly number[]>;
}

/** Starts the program from source with the measuring of `timed-host-process.ts`, ahead of other work. */
export function startTimedHost(folder: string): TimedHost {
  const program = startProgram(folder, foremost([process.execPath, '--import', loader, entry]), true);
  const { child } = program;
  let answer: (lateMicroseconds: readonly number[]) => void = () => undefined;
  createInterface({ input: child.stdout }).on('line', (line) => {
    if (line.startsWith('{')) answer((JSON.parse(line) as { lateMicroseconds: number[] }).lateMicroseconds);
  });
  const gone = new Promise<never>((_resolve, reject) => {
    child.once('exit', () => reject(new Error(`the host has ended: ${program.said}`)));
  });
  gone.catch(() => undefined);
  return {
    program,
    measure(count, spacingMicroseconds, prompt) {
      const measured = new Promise<readonly number[]>((resolve) => {
        answer = resolve;
      });
      child.stdin.write(`${JSON.stringify({ count, spacingMicroseconds, prompt })}\n`);
      return Promise.race([measured, gone]);
    },
  };
}
