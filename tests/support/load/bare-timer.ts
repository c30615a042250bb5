import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { foremost } from './foremost.ts';

const entry = fileURLToPath(new URL('./bare-timer.mjs', import.meta.url));

/** A process of the host's rank that does nothing but wait: what it is late by, the machine is late by. */
export interface BareTimer {
  /** How late each of so many deadlines was, µs, in their order. One measurement at a time. */
  measure(count: number, spacingMicroseconds: number): Promise<readonly number[]>;
  end(): void;
}

export function startBareTimer(): BareTimer {
  const [program, ...words] = foremost([process.execPath, entry]);
  const child = spawn(program, words, { detached: true, stdio: ['pipe', 'pipe', 'inherit'] });
  const answers = createInterface({ input: child.stdout });
  const gone = once(child, 'exit').then(() => {
    throw new Error('the bare timer has ended');
  });
  gone.catch(() => undefined);
  return {
    async measure(count, spacingMicroseconds) {
      const answer = once(answers, 'line');
      child.stdin.write(`${JSON.stringify({ count, spacingMicroseconds })}\n`);
      const [line] = (await Promise.race([answer, gone])) as [string];
      return JSON.parse(line) as number[];
    },
    end() {
      child.stdin.end();
      child.kill();
    },
  };
}
