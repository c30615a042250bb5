import { join } from 'node:path';
import type { Browser, CDPSession, Page } from 'playwright';
import { readTrial } from '../../../src/host/store/read.ts';
import { windowNiceness } from '../../../src/host/window/rank-below.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { toMicroseconds } from '../../../src/model/time.ts';
import { launchBrowser, wrapBrowser } from '../browser/find-browser.ts';
import type { temporaryFolder } from '../command-line.ts';
import { program as programFile, startProgram, type StartedProgram } from '../end-to-end/started-program.ts';
import { foremost } from '../load/foremost.ts';
import { writeLoadScenario } from '../load/load-scenario.ts';
import { processorSeconds } from '../load/measures.ts';
import { openProgramWindow, type ProgramWindow } from '../load/program-window.ts';
import { notingRigWrites, writtenAt } from '../load/rig-writes.ts';
import { beginLog, logDrawing, pageClock, readLog, type DrawLog } from './draw-log.ts';

/** What was seen of one trial at 200 readings a second, with its console in a browser, while the exercise ran. */
export interface WatchedTrial {
  /** From the line written by the rig to the frame after the one in which it was drawn, ms; readings that are shown. */
  readonly lineToPixelMilliseconds: readonly number[];
  /** From frame to frame, ms. */
  readonly frameMilliseconds: readonly number[];
  /** Drawings of the lanes in each whole second. */
  readonly drawsPerSecond: readonly number[];
  /** Processor time of the host, 1 for a whole core. */
  readonly hostShare: number;
  /** What the page holds after a collection, bytes, in equal steps of time. */
  readonly heapBytes: readonly number[];
  /** How far the clocks of page and machine may be apart, ms. */
  readonly clockDoubtMilliseconds: number;
}

async function heapBytes(session: CDPSession): Promise<number> {
  await session.send('HeapProfiler.collectGarbage');
  const usage: { usedSize: number; backingStorageSize?: number } = await session.send('Runtime.getHeapUsage');
  return usage.usedSize + (usage.backingStorageSize ?? 0);
}

async function openConsole(browser: Browser, program: StartedProgram): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1366, height: 768 } });
  await logDrawing(page);
  await page.goto(await program.address());
  await page.goto(new URL('#/trial', page.url()).href);
  await page.locator('.hands').waitFor();
  return page;
}

/** @returns file and trial, prepared. */
async function prepare(window: ProgramWindow): Promise<{ file: string; trial: string }> {
  await window.stepUp();
  const { file } = await window.client.study.create({ name: 'Load' });
  await window.client.rig.startVirtual({ scenario: 'load.json', seed: 3 });
  await window.until('the rig', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  const { trial } = await window.client.trial.prepare(window.plan(file));
  await window.until('the trial', (snapshot) => snapshot.trial?.trial === trial);
  return { file, trial };
}

/** Runs a trial with one exercise of this length and measures while it lasts; everything is ended afterwards. */
export async function watchTrial(
  folder: ReturnType<typeof temporaryFolder>,
  exerciseSeconds: number,
  heapEverySeconds: number,
): Promise<WatchedTrial> {
  writeLoadScenario(folder.path, exerciseSeconds);
  const writes = folder.file('rig-writes');
  const words = notingRigWrites(writes, [process.execPath, programFile, 'start']);
  const program = startProgram(folder.path, foremost(words), true);
  const browser = await launchBrowser(wrapBrowser(folder.file('browser'), (path) => foremost([path], windowNiceness)));
  try {
    const window = await openProgramWindow(await program.address());
    const { file, trial } = await prepare(window);
    const page = await openConsole(browser, program);
    const session = await page.context().newCDPSession(page);
    const exercising = (): boolean => window.trial().now.kind === 'exercise';
    await window.command('start');
    await window.until('the exercise', exercising, 60);

    const heap: number[] = [];
    const processId = program.child.pid ?? 0;
    await beginLog(page);
    const began = performance.now();
    const used = processorSeconds(processId);
    while (exercising()) {
      heap.push(await heapBytes(session));
      const next = began + heap.length * heapEverySeconds * 1000;
      while (performance.now() < next && exercising()) await page.waitForTimeout(100);
    }
    const hostShare = (processorSeconds(processId) - used) / ((performance.now() - began) / 1000);
    const log = await readLog(page);
    const clock = await pageClock(page);
    await window.until('the end', (snapshot) => ['done', 'failed'].includes(snapshot.trial?.ending ?? ''), 60);
    window.leave();
    await browser.close();
    await program.end();
    const record = readTrial(join(folder.path, file), trial);
    return {
      lineToPixelMilliseconds: lineToPixel(record, log, clock.offsetMicroseconds, writes),
      frameMilliseconds: log.frames.slice(1).map((at, index) => at - (log.frames[index] ?? at)),
      drawsPerSecond: perSecond(log.draws.map(({ at }) => at)),
      hostShare,
      heapBytes: heap,
      clockDoubtMilliseconds: clock.uncertaintyMicroseconds / 1000,
    };
  } finally {
    await browser.close();
    await program.end();
  }
}

/** Of times in ms the counts in whole seconds from the first one on; the last, broken second is left out. */
function perSecond(times: readonly number[]): number[] {
  const first = times[0] ?? 0;
  const counts = new Array<number>(Math.floor(((times.at(-1) ?? first) - first) / 1000)).fill(0);
  for (const at of times) {
    const second = Math.floor((at - first) / 1000);
    if (second < counts.length) counts[second] = (counts[second] ?? 0) + 1;
  }
  return counts;
}

/** Stretches of arrival time in which the lanes show every reading above zero: from confirmed to released, in order. */
function shownStretches({ rig, events }: TrialRecord): { readonly from: number; readonly to: number }[] {
  const lag = toMicroseconds(rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value);
  const stretches: { readonly from: number; readonly to: number }[] = [];
  let from = Number.POSITIVE_INFINITY;
  for (const event of events) {
    if (event.kind === 'port-acknowledged') from = event.atMicroseconds + lag;
    if (event.kind === 'dwell-ended') stretches.push({ from, to: event.atMicroseconds + lag });
  }
  return stretches;
}

/** Readings of filtered air scatter about the photometer's zero; what is well above it is on the log axis. */
const leastShown = 0.04;

function lineToPixel(record: TrialRecord, log: DrawLog, offsetMicroseconds: number, writes: string): number[] {
  const [stream] = record.streams;
  const [segment] = record.segments;
  if (stream === undefined || segment === undefined) throw new Error('nothing was recorded');
  const written = writtenAt(writes, stream.values);
  const stretches = shownStretches(record);
  const frames = log.frames.map((at) => at * 1000 + offsetMicroseconds);
  const latencies: number[] = [];
  let reading = 0;
  let stretch = 0;
  let frame = 0;
  // What the first picture shows was drawn before.
  let drawnTo = log.draws[0]?.newestMicroseconds ?? 0;
  for (const { at, newestMicroseconds } of log.draws) {
    if (newestMicroseconds === null || newestMicroseconds <= drawnTo) continue;
    const drawn = at * 1000 + offsetMicroseconds;
    while (frame < frames.length && (frames[frame] as number) <= drawn) frame += 1;
    const seen = frames[frame];
    if (seen === undefined) break;
    for (; (stream.atMicroseconds[reading] ?? Infinity) <= newestMicroseconds; reading += 1) {
      const time = stream.atMicroseconds[reading] as number;
      if (time <= drawnTo) continue;
      while ((stretches[stretch]?.to ?? Infinity) <= time) stretch += 1;
      if (time < (stretches[stretch]?.from ?? Infinity) || (stream.values[reading] ?? 0) < leastShown) continue;
      latencies.push((seen - (written[reading] as number)) / 1000);
    }
    drawnTo = newestMicroseconds;
  }
  return latencies;
}
