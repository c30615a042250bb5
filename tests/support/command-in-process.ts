import { runCommandLine } from '../../src/host/cli/main.ts';

export interface PrintedOutcome {
  readonly status: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs a command line within this process: for what is said before anything begins that needs one of its own. */
export async function chambersideHere(...words: string[]): Promise<PrintedOutcome> {
  let stdout = '';
  let stderr = '';
  const status = await runCommandLine(words, {
    line(text) {
      stdout += `${text}\n`;
    },
    note(text) {
      stderr += `${text}\n`;
    },
    interactive: false,
  });
  return { status, stdout, stderr };
}
