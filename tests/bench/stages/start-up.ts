import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { enter } from '../../support/doors/browser-peer.ts';
import type { Stage } from '../stage.ts';
import { timedUntil } from '../stage.ts';

/** Both lie beside the bench when it is bundled. */
const program = join(import.meta.dirname, 'chamberside.js');
const floorProgram = join(import.meta.dirname, 'bench-start-floor.js');
/** A program that has not come up after this long does not come up, ms. */
const patienceMilliseconds = 30_000;

/**
 * From starting a process to its first page. Floor: a process with the packages that the host needs, a database and a
 * server with web sockets, that answers with nothing. Product: `chamberside start` on a folder that it has been in.
 */
export const startUp: Stage = {
  name: 'start-up',
  unit: 'ms',
  target: 1.5,
  rounds: { full: 15, tiny: 1 },
  warmUps: 2,
  async begin(_size, folder) {
    for (const file of [program, floorProgram]) {
      if (!existsSync(file)) throw new Error(`start-up: ${file} is missing: run it with npm run bench`);
    }
    const host = ['start', '--folder', folder, '--no-window', '--json'];
    const begun = (words: readonly string[], visit: (url: string) => Promise<unknown>): Promise<number> =>
      firstPage(words, visit);
    return {
      floor: () => begun([floorProgram, join(folder, 'floor.sqlite')], askOnce),
      product: () => begun([program, ...host], enter),
      end: () => undefined,
    };
  },
};

async function askOnce(url: string): Promise<void> {
  const answer = await fetch(url);
  if (answer.status !== 200) throw new Error(`start-up: the floor answered with ${answer.status}`);
  await answer.text();
}

/** Starts a program that prints its address as JSON, visits it, and ends it again. @returns ms up to the page. */
async function firstPage(words: readonly string[], visit: (url: string) => Promise<unknown>): Promise<number> {
  let child: ReturnType<typeof spawn> | undefined;
  try {
    return await timedUntil(async () => {
      const started = spawn(process.execPath, words, { stdio: ['ignore', 'pipe', 'pipe'] });
      child = started;
      await visit(await addressOf(started));
    });
  } finally {
    if (child !== undefined) await ended(child);
  }
}

function addressOf(child: ReturnType<typeof spawn>): Promise<string> {
  const { stdout, stderr } = child;
  if (stdout === null || stderr === null) throw new Error('start-up: the program has no pipes');
  return new Promise((resolve, reject) => {
    let said = '';
    stderr.setEncoding('utf8').on('data', (text: string) => (said += text));
    const fail = (why: string): void => reject(new Error(`start-up: ${why}: ${said}`));
    const timer = setTimeout(() => fail('no address was printed'), patienceMilliseconds);
    child.once('error', (error) => fail(error.message));
    child.once('exit', (status) => fail(`it ended with ${status ?? 'a signal'}`));
    createInterface(stdout).once('line', (line) => {
      clearTimeout(timer);
      resolve((JSON.parse(line) as { url: string }).url);
    });
  });
}

async function ended(child: ReturnType<typeof spawn>): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = new Promise((resolve) => child.once('exit', resolve));
  child.kill('SIGTERM');
  const timer = setTimeout(() => child.kill('SIGKILL'), patienceMilliseconds);
  await gone;
  clearTimeout(timer);
}
