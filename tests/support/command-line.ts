import { spawn, type ChildProcess } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync, statSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { foremost } from './load/foremost.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const loader = pathToFileURL(createRequire(import.meta.url).resolve('tsx')).href;
const fromSource = ['--import', loader, join(root, 'src/host/cli/entry.ts')];
const fromBundle = [join(root, 'build/out/chamberside.js')];

/** When the newest file below a folder was written, ms. */
function newestIn(folder: string): number {
  const files = readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' });
  return Math.max(0, ...files.map((file) => statSync(join(root, folder, file)).mtimeMs));
}

function bundleIsNewest(): boolean {
  const built = statSync(fromBundle[0] ?? '', { throwIfNoEntry: false })?.mtimeMs ?? 0;
  return ['src', 'drivers'].every((folder) => newestIn(folder) < built);
}

let entry: readonly string[] | null = null;

export interface CommandOutcome {
  readonly status: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly stdout: string;
  readonly stderr: string;
}

/**
 * Arguments of Node that run the program: its bundle, which starts in a tenth of the time, or the source where that is
 * newer.
 */
export function chambersideWords(words: readonly string[]): string[] {
  entry ??= bundleIsNewest() ? fromBundle : fromSource;
  return [...entry, ...words];
}

/** Starts the program as a process of its own: what it prints is all that a test gets to know. */
export function startChamberside(
  words: readonly string[],
  input?: string,
): { child: ChildProcess; ended: Promise<CommandOutcome> } {
  const child = spawn(process.execPath, chambersideWords(words), {
    stdio: [input === undefined ? 'ignore' : 'pipe', 'pipe', 'pipe'],
  });
  // The program may have ended without reading it.
  child.stdin?.on('error', () => undefined).end(input);
  return { child, ended: outcomeOf(child) };
}

function outcomeOf(child: ChildProcess): Promise<CommandOutcome> {
  let stdout = '';
  let stderr = '';
  child.stdout?.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
  });
  child.stderr?.setEncoding('utf8').on('data', (text: string) => {
    stderr += text;
  });
  return new Promise<CommandOutcome>((resolve, reject) => {
    child.once('error', reject);
    child.once('close', (status, signal) => resolve({ status, signal, stdout, stderr }));
  });
}

/** Runs a command ahead of whatever else runs on the machine, where that is allowed: for what lives in real time. */
export function chambersideForemost(...words: string[]): Promise<CommandOutcome> {
  const [command, ...rest] = foremost([process.execPath, ...chambersideWords(words)]);
  return outcomeOf(spawn(command, rest, { stdio: ['ignore', 'pipe', 'pipe'], detached: true }));
}

export function chamberside(...words: string[]): Promise<CommandOutcome> {
  return startChamberside(words).ended;
}

/** Runs a command with this on its standard input. */
export function chambersideWithInput(input: string, ...words: string[]): Promise<CommandOutcome> {
  return startChamberside(words, input).ended;
}

/** Runs a command that must succeed and reads its JSON. */
export async function chambersideJson<Result>(...words: string[]): Promise<Result> {
  const outcome = await chamberside(...words, '--json');
  if (outcome.status !== 0) {
    throw new Error(`chamberside ${words.join(' ')} ended with ${outcome.status ?? outcome.signal}: ${outcome.stderr}`);
  }
  return JSON.parse(outcome.stdout) as Result;
}

/** A folder of its own for one test, removed by `clear`. */
export function temporaryFolder(): { readonly path: string; file(name: string): string; clear(): void } {
  const path = mkdtempSync(join(tmpdir(), 'chamberside-test-'));
  return { path, file: (name) => join(path, name), clear: () => rmSync(path, { recursive: true, force: true }) };
}
