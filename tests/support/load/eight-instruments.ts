import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createRequire } from 'node:module';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';

export const photometerNames = ['first', 'second', 'third', 'fourth'] as const;
export const flowNames = ['flow-one', 'flow-two', 'flow-three'] as const;
/** Counts begin anew after this many: a flow of breath has no larger values. */
export const countModulus = 5_000;

export interface EightInstruments {
  /** Ports by name: `valve`, and those that speak. */
  readonly lines: Readonly<Record<string, string>>;
  readonly processId: number;
  /** All fall silent; lines that each has sent. */
  silence(): Promise<Readonly<Record<string, number>>>;
  end(): Promise<void>;
}

const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const entry = fileURLToPath(new URL('./eight-instruments-process.ts', import.meta.url));

export async function startEightInstruments(): Promise<EightInstruments> {
  const child = spawn(process.execPath, ['--import', loader, entry], { stdio: ['pipe', 'pipe', 'inherit'] });
  const gone = once(child, 'exit');
  const said = createInterface({ input: child.stdout })[Symbol.asyncIterator]();
  const next = async (): Promise<Record<string, Record<string, never>>> => {
    const line = await said.next();
    if (line.done === true) throw new Error('the instruments have ended');
    return JSON.parse(line.value) as Record<string, Record<string, never>>;
  };
  const { lines } = await next();
  if (lines === undefined || child.pid === undefined) throw new Error('the instruments have not started');
  return {
    lines,
    processId: child.pid,
    async silence() {
      child.stdin.write('stop\n');
      return (await next())['sent'] ?? {};
    },
    async end() {
      child.stdin.end();
      await gone;
    },
  };
}
