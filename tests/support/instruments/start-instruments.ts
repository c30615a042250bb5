import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

/** Simulated instruments on pseudo-terminals. */
export interface StartedInstruments {
  readonly lines: Readonly<Record<'bus' | 'flow' | 'breaths', string>>;
  stop(): Promise<void>;
}

export async function startInstruments(): Promise<StartedInstruments> {
  const entry = fileURLToPath(new URL('./instruments-process.ts', import.meta.url));
  const child = spawn(process.execPath, ['--import', 'tsx', entry], { stdio: ['pipe', 'pipe', 'inherit'] });
  const gone = once(child, 'exit');
  const said = createInterface({ input: child.stdout })[Symbol.asyncIterator]().next();
  const first = await Promise.race([said, gone]);
  if (Array.isArray(first) || first.done === true) throw new Error('the instruments have ended');
  const { lines } = JSON.parse(first.value) as Pick<StartedInstruments, 'lines'>;
  return {
    lines,
    async stop() {
      child.stdin.end();
      await gone;
    },
  };
}
