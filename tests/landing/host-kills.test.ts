import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { SampleFrame } from '../../src/bridge/frame.ts';
import type { Identifier } from '../../src/model/identity.ts';
import { listTrials, readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { startProgram, type StartedProgram } from '../support/end-to-end/started-program.ts';
import { openProgramWindow, type ProgramWindow } from '../support/load/program-window.ts';
import { quickScenario, writeQuickScenario } from '../support/runtime/quick-scenario.ts';

/**
 * What the trial does when its host is killed: 12 moments. A trial that has ended is followed by another. A moment
 * that does not come (any more) within the limit is taken as it is then.
 */
const moments = [
  ...['background', 'waiting', 'lead-in', 'exercise', 'usable', 'usable', 'closing', 'ending'],
  ...['prepared', 'rest', 'usable', 'held'],
] as const;
const limitMilliseconds = 45_000;
/** So much later it happens, ms; spread by a fixed seed so that a failure can be repeated. */
const delays = fc.sample(fc.noBias(fc.integer({ min: 0, max: 3_500 })), { numRuns: moments.length, seed: 20261126 });

/** What a window was shown of one trial, and of that what it was told to be on the disk. */
interface Shown {
  /** Since the host was started; by stream and time, µs of trial time. */
  readonly fresh: Map<string, number>;
  readonly acknowledged: Map<string, number>;
  readonly acknowledgedMarks: string[];
}

const folder = temporaryFolder();
const shown = new Map<Identifier, Shown>();
const losses: string[] = [];
let file = '';
let ended = '';
let program: StartedProgram;
let window: ProgramWindow;
let trial: Identifier;
/** Kills by what the trial did then. */
const killed = new Map<string, number>();

const path = (): string => join(folder.path, file);
const of = (identifier: Identifier): Shown => {
  const known = shown.get(identifier) ?? { fresh: new Map(), acknowledged: new Map(), acknowledgedMarks: [] };
  shown.set(identifier, known);
  return known;
};
const ending = (): string => window.snapshot().trial?.ending ?? 'no';
/** What the trial does now, as this test counts it; `usable`: air of a probe counts in an exercise. */
function moment(): string {
  const { trial: now } = window.snapshot();
  if (now === null || ending() !== 'no') return 'ending';
  const { air, kind, purpose } = now.now;
  return kind === 'exercise' && purpose === 'probe' && air === 'usable' ? 'usable' : kind;
}
const isIn = (wanted: string): boolean => moment() === wanted || (wanted === 'exercise' && moment() === 'usable');

/** A host and a window at it, with somebody at the rig. */
async function start(): Promise<void> {
  program = startProgram(folder.path);
  window = await openProgramWindow(await program.address(), take);
  await window.stepUp();
}

function take({ kind, stream, times, values }: SampleFrame): void {
  if (kind !== 'live') return;
  const { fresh } = of(trial);
  for (const [index, at] of times.entries()) fresh.set(`${stream} ${at}`, values[index] ?? Number.NaN);
}

async function prepareTrial(): Promise<void> {
  await window.client.rig.startVirtual({ scenario: quickScenario, seed: 3 });
  await live();
  if (file === '') ({ file } = await window.client.study.create({ name: 'Killed' }));
  ({ trial } = await window.client.trial.prepare(window.plan(file)));
  await follow();
}

async function resumeTrial(): Promise<void> {
  await window.client.trial.resume({ file, trial });
  // One that had been closed is only sealed.
  if (listTrials(path()).some((row) => row.trial === trial && row.sealed !== null)) return prepareTrial();
  await live();
  return follow();
}

const unfinished = (): boolean => listTrials(path()).some((row) => row.trial === trial && row.sealed === null);

/** From whatever a new host finds to a trial that is prepared or held. */
async function takeUp(): Promise<void> {
  if (file === '' || !unfinished()) await prepareTrial();
  else await resumeTrial();
}

async function goOn(): Promise<void> {
  const { phase } = window.trial();
  if (phase === 'held') expect(window.trial().heldBecause).toBe('interrupted');
  await window.command(phase === 'prepared' ? 'start' : 'go-on', 'in place and fit');
}

/** Samples of the trial from now on; every number before them was of another time base. */
async function follow(): Promise<void> {
  await window.until('the trial', (snapshot) => snapshot.trial?.trial === trial);
  window.subscribe(window.snapshot().rig.streams.map((_stream, index) => index));
}

const live = async (): Promise<void> => {
  await window.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
};

async function kill(note: string, wanted: (typeof moments)[number], delay: number): Promise<void> {
  if (wanted !== 'prepared' && wanted !== 'held') await goOn();
  await window.command('mark', note);
  const { version } = window.snapshot();
  const after = await window.until('another snapshot', (snapshot) => snapshot.version > version);
  /** No earlier than the mark. */
  const markedMicroseconds = after.trial?.atMicroseconds ?? Number.POSITIVE_INFINITY;
  const until = Date.now() + limitMilliseconds;
  while (Date.now() < until && !isIn(wanted) && moment() !== 'ending') await tick();
  // Usable air lasts a few seconds only.
  const late = Date.now() + (wanted === 'ending' ? 0 : wanted === 'usable' ? delay / 10 : delay);
  while (Date.now() < late && moment() !== 'ending') await tick();
  await program.kill();
  await window.ended;
  const now = moment();
  killed.set(now, (killed.get(now) ?? 0) + 1);
  const row = window
    .snapshot()
    .studies.find((study) => study.file === file)?.trials.find((each) => each.trial === trial);
  const throughMicroseconds = (row?.recordedSeconds ?? 0) * 1e6;
  const { fresh, acknowledged, acknowledgedMarks } = of(trial);
  for (const [key, value] of fresh) {
    if (Number(key.split(' ')[1]) <= throughMicroseconds) acknowledged.set(key, value);
  }
  fresh.clear();
  if (markedMicroseconds <= throughMicroseconds) acknowledgedMarks.push(note);
  window.leave();
}

const tick = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 5));

/** Everything that was shown and said to be on the disk is on the disk, as it was shown. */
function compare(when: string): void {
  for (const [identifier, { acknowledged, acknowledgedMarks }] of shown) {
    const { events, streams } = readTrial(path(), identifier);
    const stored = new Map<string, number>();
    for (const [stream, { atMicroseconds, values }] of streams.entries()) {
      for (const [index, at] of atMicroseconds.entries()) stored.set(`${stream} ${at}`, values[index] ?? Number.NaN);
    }
    for (const [key, value] of acknowledged) {
      if (stored.get(key) !== value) losses.push(`${when}: reading ${key} is ${String(stored.get(key))}, not ${value}`);
    }
    for (const note of acknowledgedMarks) {
      const found = events.some((event) => event.kind === 'mark-noted' && event.note === note);
      if (!found) losses.push(`${when}: ${note}`);
    }
  }
  for (const { severity, code } of verify(path()).findings) if (severity === 'bad') losses.push(`${when}: ${code}`);
}

beforeAll(async () => {
  writeQuickScenario(folder.path, ['march']);
  await start();
  await takeUp();
  for (const [number, wanted] of moments.entries()) {
    await kill(`mark ${String(number).padStart(2, '0')}`, wanted, delays[number] ?? 0);
    compare(`kill ${number}`);
    await start();
    await takeUp();
  }
  await goOn();
  await window.until('the end', () => ['done', 'failed'].includes(ending()), 150);
  ended = ending();
  compare('at the end');
  window.leave();
  await program.end();
}, 1_200_000);
afterAll(async () => {
  await program.end();
  folder.clear();
});

describe('twelve kills of the host during trials on pseudo-terminals', () => {
  it('come at many moments of a trial, with much shown and acknowledged', () => {
    let readings = 0;
    let marks = 0;
    for (const { acknowledged, acknowledgedMarks } of shown.values()) {
      readings += acknowledged.size;
      marks += acknowledgedMarks.length;
    }
    console.log(`killed: ${[...killed].map(([what, count]) => `${count} × ${what}`).join(', ')}`);
    console.log(`shown and acknowledged: ${readings} readings, ${marks} marks`);
    expect([...killed.values()].reduce((sum, count) => sum + count, 0)).toBe(moments.length);
    expect(killed.size).toBeGreaterThan(5);
    expect(killed.get('usable') ?? 0).toBeGreaterThanOrEqual(2);
    expect(readings).toBeGreaterThan(1_000);
    expect(marks).toBeGreaterThan(5);
  });

  it('lose nothing that was acknowledged, and leave a file that verifies each time', () => {
    expect(losses).toEqual([]);
  });

  it('leave trials that go on to their end', () => {
    const report = verify(path());
    expect(report.intact).toBe(true);
    expect(report.trials.every(({ sealed }) => sealed)).toBe(true);
    expect(ended).toBe('done');
    for (const { trial: identifier } of listTrials(path())) {
      const { events } = readTrial(path(), identifier);
      expect(events.some((event) => event.kind === 'phase-changed' && event.to === 'closed')).toBe(true);
    }
  });
});
