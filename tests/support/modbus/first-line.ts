import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

export interface StartedProcess {
  /** The one line that it prints, as JSON. */
  readonly said: unknown;
  stop(): Promise<void>;
}

/** Starts a process of this folder's siblings, by its file, and waits for what it has to say. */
export async function startAndHear(file: URL): Promise<StartedProcess> {
  const child = spawn(process.execPath, ['--import', 'tsx', fileURLToPath(file)], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const gone = once(child, 'exit');
  const said = createInterface({ input: child.stdout })[Symbol.asyncIterator]().next();
  const first = await Promise.race([said, gone]);
  if (Array.isArray(first) || first.done === true) throw new Error(`${file.pathname} has ended`);
  return {
    said: JSON.parse(first.value) as unknown,
    async stop() {
      child.stdin.end();
      await gone;
    },
  };
}
