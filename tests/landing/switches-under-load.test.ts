import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readTrial } from '../../src/host/store/read.ts';
import { windowNiceness } from '../../src/host/window/rank-below.ts';
import { launchBrowser, wrapBrowser } from '../support/browser/find-browser.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { foremost } from '../support/load/foremost.ts';
import { loadReadingsPerSecond, writeLoadScenario } from '../support/load/load-scenario.ts';
import { quantile } from '../support/load/measures.ts';
import { openProgramWindow, type ProgramWindow } from '../support/load/program-window.ts';
import { startTimedHost, type TimedHost } from '../support/load/timed-host.ts';
import { rehearse } from '../support/rehearsal.ts';

/** No multiple of anything that repeats in the host, so that every moment between two of its beats is met. */
const spacingMicroseconds = 43_000;
const idleDeadlines = 700;
const loadedDeadlines = 1_600;
const rounds = 2;

const folder = temporaryFolder();
/** By a timer as the machine has it, in the idle host: the floor. */
const idle: number[] = [];
/** As the conductor waits, in the idle host. */
const prompt: number[] = [];
const loaded: number[][] = [];
/** Of the real switches of the trials: from the planned moment to the request, µs. */
const switches: number[] = [];
let readingsPerSecond = Number.POSITIVE_INFINITY;
let streams = 0;
let assessments = 0;
let host: TimedHost;

/** One trial with everything at work, until the deadlines have passed. */
async function loadedRound(window: ProgramWindow, file: string, computed: string): Promise<void> {
  await window.client.rig.startVirtual({ scenario: 'load.json', seed: 3 });
  const open = await window.until('the rig', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  streams = open.rig.streams.length;
  const { trial } = await window.client.trial.prepare(window.plan(file));
  await window.until('the trial', (snapshot) => snapshot.trial?.trial === trial);
  await window.command('start');

  const browser = await launchBrowser(wrapBrowser(folder.file('browser'), (path) => foremost([path], windowNiceness)));
  let busy = true;
  const computing = (async () => {
    for (; busy; assessments += 1) await window.client.trial.assess({ file: 'computed.chamberside', trial: computed });
  })();
  try {
    const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
    await page.goto(await host.program.address());
    await page.goto(new URL('#/trial', page.url()).href);
    await page.locator('.lane-chart').waitFor();
    const before = window.trial();
    loaded.push([...(await host.measure(loadedDeadlines, spacingMicroseconds, true))]);
    const after = window.trial();
    const seconds = (after.atMicroseconds - before.atMicroseconds) / 1e6;
    readingsPerSecond = Math.min(readingsPerSecond, (after.counts.readings - before.counts.readings) / seconds);
  } finally {
    busy = false;
    await computing;
    await browser.close();
  }
  await window.command('stop', 'measured');
  await window.command('close');
  await window.until('the end', (snapshot) => ['done', 'failed'].includes(snapshot.trial?.ending ?? ''), 60);
  await window.client.trial.leave({});
  await window.client.rig.close({});
  for (const event of readTrial(join(folder.path, file), trial).events) {
    if (event.kind === 'dwell-began') switches.push(event.atMicroseconds - event.plannedAtMicroseconds);
  }
}

beforeAll(async () => {
  const { trialId } = await rehearse(folder.file('computed.chamberside'), '--seed', '7');
  writeLoadScenario(folder.path, 100);
  host = startTimedHost(folder.path);
  const window = await openProgramWindow(await host.program.address());
  await window.stepUp();
  const { file } = await window.client.study.create({ name: 'Load' });
  idle.push(...(await host.measure(idleDeadlines, spacingMicroseconds, false)));
  prompt.push(...(await host.measure(idleDeadlines, spacingMicroseconds, true)));
  for (let round = 0; round < rounds; round += 1) {
    await loadedRound(window, file, trialId);
    idle.push(...(await host.measure(idleDeadlines, spacingMicroseconds, false)));
  }
  window.leave();
  const all = loaded.flat();
  const told = (values: readonly number[]): string =>
    [0.5, 0.99, 1].map((share) => (quantile(values, share) / 1000).toFixed(2)).join(' / ');
  console.log(
    `late by ms, median / p99 / most: idle ${told(idle)}, prompt ${told(prompt)}, ` +
      `loaded ${told(all)}, switches ${told(switches)}`,
  );
  console.log(`${readingsPerSecond.toFixed(0)} readings a second at the least, ${assessments} assessments`);
}, 600_000);
afterAll(async () => {
  await host.program.end();
  folder.clear();
});

describe('deadlines of the conductor’s clock, with readings, a screen and a busy compute worker', () => {
  it('are measured under that load', () => {
    expect(streams).toBe(5);
    expect(readingsPerSecond).toBeGreaterThan(0.97 * loadReadingsPerSecond);
    expect(assessments).toBeGreaterThan(20);
    expect(loaded.flat().length).toBeGreaterThanOrEqual(3_000);
  });

  it('are as a rule no later than a timer of an idle host, and 99 of 100 within four times its 99 of 100', () => {
    const all = loaded.flat();
    expect(quantile(all, 0.5)).toBeLessThanOrEqual(quantile(idle, 0.5));
    // Whatever else this machine does comes on top: the quieter trial is held to the limit, both to twice as much.
    const floor = quantile(idle, 0.99);
    expect(Math.min(...loaded.map((round) => quantile(round, 0.99)))).toBeLessThanOrEqual(4 * floor);
    expect(quantile(all, 0.99)).toBeLessThanOrEqual(8 * floor);
    expect(quantile(switches, 0.9)).toBeLessThanOrEqual(20_000);
  });

  it('are never late by more than 100 ms, and never early', () => {
    for (const late of [...loaded.flat(), ...switches]) {
      expect(late).toBeGreaterThanOrEqual(0);
      expect(late).toBeLessThanOrEqual(100_000);
    }
    expect(switches.length).toBeGreaterThan(20);
  });

  it('do not drift: the last ones are as late as the first', () => {
    for (const round of loaded) {
      const quarter = round.length / 4;
      const drift = quantile(round.slice(-quarter), 0.5) - quantile(round.slice(0, quarter), 0.5);
      expect(Math.abs(drift)).toBeLessThan(2_000);
    }
  });
});
