import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import type { Page } from 'playwright';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { launchBrowser, wrapBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { writeLoadScenario } from '../support/load/load-scenario.ts';
import { openProgramWindow } from '../support/load/program-window.ts';

const kills = 20;
/** How long a window lives after its last mark, ms; so short that some marks are not answered before it is killed. */
const delays = fc.sample(fc.noBias(fc.integer({ min: 0, max: 60 })), { numRuns: kills, seed: 20261127 });
/** After every so many kills no window comes until the host has said that it misses one. */
const aloneEvery = 5;

const folder = temporaryFolder();
let program: StartedProgram;
let path = '';
let record: TrialRecord;
/** Marks that were answered before the window was killed. */
const acknowledged: string[] = [];
let timesAlone = 0;

/** Collects the notes of marks whose calls were answered. */
function followAnswers(page: Page): void {
  const asked = new Map<string, string>();
  const numberOf = (payload: string): string => /"i":"?([\w-]+)/.exec(payload)?.[1] ?? '';
  page.on('websocket', (socket) => {
    socket.on('framesent', ({ payload }) => {
      const note = /window \d+ mark \d+/.exec(String(payload))?.[0];
      if (note !== undefined) asked.set(numberOf(String(payload)), note);
    });
    socket.on('framereceived', ({ payload }) => {
      if (typeof payload !== 'string') return;
      const note = asked.get(numberOf(payload));
      if (note !== undefined) acknowledged.push(note);
    });
  });
}

/** One window: comes, goes on where the trial is held, notes two marks, and is killed with its browser. */
async function windowThatIsKilled(number: number, delay: number): Promise<void> {
  const pidFile = folder.file('browser.pid');
  const script = wrapBrowser(folder.file('browser'), (browser) => [
    ...['sh', '-c', `echo $$ > ${pidFile}; exec "$@"`, 'sh', browser],
  ]);
  const browser = await launchBrowser(script);
  const gone = new Promise<void>((resolve) => browser.once('disconnected', () => resolve()));
  const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  followAnswers(page);
  await page.goto(await program.newestAddress());
  await page.goto(new URL('#/trial', page.url()).href);
  await page.locator('.now-title').waitFor();
  if (/held/i.test(await page.locator('.now-title').innerText())) {
    // The stop contact has to be heard before anybody goes on.
    await page.locator('.hand-first:enabled').waitFor({ timeout: 10_000 });
    await page.keyboard.press('Space');
    await page.keyboard.press('Enter');
    await page.locator('.now-title', { hasText: /held/i }).waitFor({ state: 'detached', timeout: 10_000 });
  }
  for (const mark of [1, 2]) {
    const before = acknowledged.length;
    await page.keyboard.press('m');
    await page.keyboard.type(`window ${number} mark ${mark}`);
    await page.keyboard.press('Enter');
    // The second one may be cut off.
    while (mark === 1 && acknowledged.length === before) await page.waitForTimeout(5);
  }
  await new Promise((resolve) => setTimeout(resolve, delay));
  process.kill(Number(readFileSync(pidFile, 'utf8')), 'SIGKILL');
  await gone;
}

const alone = (): number => [...program.said.matchAll(/NO WINDOW IS LEFT/g)].length;

beforeAll(async () => {
  writeLoadScenario(folder.path, 150);
  program = startProgram(folder.path);
  const first = await openProgramWindow(await program.address());
  await first.stepUp();
  const { file } = await first.client.study.create({ name: 'Killed windows' });
  path = join(folder.path, file);
  await first.client.rig.startVirtual({ scenario: 'load.json', seed: 3 });
  await first.until('the rig', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  const { trial } = await first.client.trial.prepare(first.plan(file));
  await first.until('the trial', (snapshot) => snapshot.trial?.trial === trial);
  await first.command('start');
  first.leave();
  for (const [number, delay] of delays.entries()) {
    const before = alone();
    await windowThatIsKilled(number, delay);
    if (number % aloneEvery !== aloneEvery - 1) continue;
    while (alone() === before) await new Promise((resolve) => setTimeout(resolve, 50));
  }
  timesAlone = alone();
  const last = await openProgramWindow(await program.newestAddress());
  await last.command('stop', 'all windows have been killed');
  await last.command('close');
  await last.until('the end', (snapshot) => ['done', 'failed'].includes(snapshot.trial?.ending ?? ''), 60);
  last.leave();
  await program.end();
  record = readTrial(path, trial);
}, 900_000);
afterAll(async () => {
  await program.end();
  folder.clear();
});

describe('twenty kills of the window during a trial on pseudo-terminals', () => {
  it('lose nothing that a window was told was done', () => {
    const noted = record.events.flatMap((event) => (event.kind === 'mark-noted' ? [event.note] : []));
    console.log(`${acknowledged.length} marks were answered, ${noted.length} are recorded`);
    expect(acknowledged.length).toBeGreaterThanOrEqual(kills);
    for (const mark of acknowledged) expect(noted.filter((note) => note.includes(mark)), mark).toHaveLength(1);
  });

  it('hold the trial when no other window comes, and each time a new one goes on', () => {
    expect(timesAlone).toBeGreaterThanOrEqual(kills / aloneEvery);
    const actions = record.events.flatMap((event) => (event.kind === 'operator-action' ? [event.action] : []));
    expect(actions.filter((action) => action === 'hold').length).toBeGreaterThanOrEqual(kills / aloneEvery);
    expect(actions.filter((action) => action === 'go-on').length).toBeGreaterThanOrEqual(kills / aloneEvery - 1);
  });

  it('leave no gap in the readings, and a file that verifies', () => {
    const at = record.streams[0]?.atMicroseconds ?? new Float64Array();
    expect(at.length).toBeGreaterThan(2_000);
    let widest = 0;
    for (let index = 1; index < at.length; index += 1) {
      widest = Math.max(widest, (at[index] as number) - (at[index - 1] as number));
    }
    expect(widest).toBeLessThan(1_000_000);
    expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
  });
});
