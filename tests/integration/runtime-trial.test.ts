import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { trialResultSchema } from '../../src/bridge/result.ts';
import type { TrialResult } from '../../src/bridge/result.ts';
import { snapshotSchema } from '../../src/bridge/snapshot.ts';
import type { InstrumentState } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { replayBytes } from '../../src/host/replay/replay-bytes.ts';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';
import { quickProbes, writeQuickScenario } from '../support/runtime/quick-scenario.ts';

/** The photometer's cable is pulled in mid-dwell and put back under another name. */
const pulledSeconds = 1.5;
const folder = temporaryFolder();
let driver: Driver;
let path = '';
let result: TrialResult;
let record: TrialRecord;
let probe = '';
let dwell = -1;
let before: InstrumentState | undefined;
let during: InstrumentState | undefined;
let after: InstrumentState | undefined;
const alarms = new Set<string>();
const views: TrialSnapshot[] = [];
let file = '';
let trial = '';

/**
 * A machine that does not run the program for 150 ms tears a gap into the readings, which must then be said: cells
 * whose only fault is that. Such a run tells nothing about the cable.
 */
const torn = (): boolean =>
  (result.assessment?.cells ?? []).some(
    (cell) => cell.flagged && cell.probe !== probe && cell.flags.every((flag) => flag === 'gap'),
  );
const mostAttempts = 3;

beforeAll(async () => {
  for (let attempt = 1; attempt <= mostAttempts; attempt += 1) {
    await pullDuringTrial(join(folder.path, `attempt-${attempt}`));
    if (!torn() || attempt === mostAttempts) return;
    await driver.end();
  }
}, 400_000);

async function pullDuringTrial(home: string): Promise<void> {
  mkdirSync(home);
  alarms.clear();
  views.length = 0;
  writeQuickScenario(home, ['march']);
  driver = await driveRuntime({ folder: home });
  ({ file } = await driver.setUp());
  driver.send({ message: 'subscribe', streams: [0, 1, 2] });
  await driver.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  path = join(home, file);
  ({ trial } = await driver.procedures.trial.prepare(driver.plan(file), driver.window));
  driver.runtime.onSnapshot((snapshot) => {
    if (snapshot.trial !== null) views.push(snapshot.trial);
  });
  const photometer = (): InstrumentState | undefined =>
    driver.runtime.snapshot().rig.instruments.find(({ kind }) => kind === 'photometer');
  await driver.command('start');
  await driver.until(
    'usable air of the first probe',
    (snapshot) => snapshot.trial?.now.kind === 'exercise' && snapshot.trial.now.air === 'usable',
    90,
  );
  probe = driver.trial().now.probe ?? '';
  dwell = driver.trial().dwells.at(-1)?.dwell ?? -1;
  before = photometer();
  driver.runtime.injectFault({ fault: 'unplug', instrument: 'photometer', seconds: pulledSeconds, newName: true });
  await driver.until('the loss', () => photometer()?.state === 'lost', 5);
  during = photometer();
  await driver.until('no reading', (snapshot) => snapshot.trial?.now.air === 'no-reading', 5);
  for (const { alarm } of driver.runtime.snapshot().alarms) alarms.add(alarm);
  await driver.until('its return', () => photometer()?.state === 'live', 10);
  after = photometer();
  await driver.until('the result', ({ trial: now }) => now?.ending === 'done' || now?.ending === 'failed', 120);
  result = await driver.procedures.trial.result({ file, trial }, driver.window);
  record = readTrial(path, trial);
}
afterAll(async () => {
  await driver.end();
  folder.clear();
});

describe('a photometer that is pulled out in mid-dwell and comes back under another name', () => {
  it('is lost, and found again where it is now', () => {
    expect(before).toMatchObject({ state: 'live', reconnects: 0 });
    expect(during?.detail ?? '').not.toBe('');
    expect(during?.connection).toBeNull();
    expect(after).toMatchObject({ state: 'live', reconnects: 1 });
    expect(after?.connection).not.toBe(before?.connection);
    expect([...alarms]).toContain('connection-lost');
  });

  it('does not hold the trial, and is recorded as what it was', () => {
    const phases = record.events.flatMap((event) => (event.kind === 'phase-changed' ? [event.to] : []));
    expect(phases).toEqual(['running', 'closed']);
    const codes = record.events.flatMap((event) => (event.kind === 'problem' ? [event.problem.code] : []));
    expect(codes).toContain('connection-lost');
    expect(codes).toContain('connection-restored');
    expect(verify(path).intact).toBe(true);
    const connected = driver.runtime.snapshot().alarms.filter(({ alarm }) => alarm === 'connection-lost');
    expect(connected.every(({ lastedSeconds }) => lastedSeconds !== null)).toBe(true);
  });

  it('leaves a gap that is a gap: no reading is made up', () => {
    const at = record.streams[0]?.atMicroseconds ?? new Float64Array();
    let widest = 0;
    for (let index = 1; index < at.length; index += 1) {
      widest = Math.max(widest, (at[index] as number) - (at[index - 1] as number));
    }
    expect(widest).toBeGreaterThan(pulledSeconds * 0.9e6);
    const gaps = result.gaps.filter(({ text }) => text.includes('photometer'));
    expect(gaps).toHaveLength(1);
  });

  it('flags the cell that it happened in, and nothing else', () => {
    const cells = result.assessment?.cells ?? [];
    const flagged = cells.filter((cell) => cell.flagged);
    expect(flagged.map((cell) => cell.probe)).toEqual([probe]);
    expect(flagged[0]?.flags).toContain('gap');
    const others = cells.filter((cell) => cell.probe !== probe);
    expect(others.map((cell) => cell.probe)).toEqual(quickProbes.filter((name) => name !== probe));
    expect(others.map(({ flags }) => flags.filter((flag) => flag !== 'below-detection-limit'))).toEqual([[]]);
    const lane = driver.trial().lanes.find((candidate) => candidate.probe === probe);
    expect(lane?.flags).toContain('gap');
    expect(driver.trial().exercises[0]?.flags).toContain('gap');
    expect(driver.trial().dwells.find((candidate) => candidate.dwell === dwell)?.complete).toBe(true);
  });
});

describe('a trial on the live host', () => {
  it('says again what is stored when its bytes go through the drivers once more', async () => {
    const instruments = await replayBytes(path, trial);
    expect(instruments.flatMap(({ differences }) => differences)).toEqual([]);
    // The rig was open before: a line, and an answer, may have begun before the record did.
    for (const { atEdge, readings, instrument } of instruments) {
      expect(atEdge).toBeLessThanOrEqual(4);
      if (instrument === 'photometer') expect(readings).toBeGreaterThan(500);
    }
  });

  it('ends sealed, assessed, and intact', () => {
    expect(driver.trial().endingFailure).toBeNull();
    expect(driver.trial().ending).toBe('done');
    expect(trialResultSchema.parse(result).sealed).not.toBeNull();
    expect(verify(path)).toMatchObject({ intact: true, trials: [{ sealed: true }] });
    const cells = result.assessment?.cells ?? [];
    expect(cells.map(({ exercise, probe }) => [exercise, probe])).toEqual(quickProbes.map((probe) => ['march', probe]));
    expect(cells.every(({ windowPercent }) => windowPercent !== null)).toBe(true);
    expect(driver.runtime.snapshot().studies[0]?.trials).toMatchObject([
      { trial, standing: 'assessed', virtual: true, operator: 'anna', cells: { all: 2 } },
    ]);
  });

  it('shows lanes that agree with the assessment but for what drifts between zeros', () => {
    const sound = (result.assessment?.cells ?? []).filter((cell) => !cell.flagged);
    expect(sound).toHaveLength(1);
    for (const cell of sound) {
      const lane = driver.trial().lanes.find(({ probe }) => probe === cell.probe);
      const measured = cell.windowPercent ?? Number.NaN;
      const allowed = 0.1 * measured + 2 * (cell.detectionLimitPercent ?? 0);
      expect(lane?.state).toBe('waiting');
      expect(Math.abs((lane?.windowPercent ?? Number.NaN) - measured), cell.probe).toBeLessThan(allowed);
    }
  });

  it('announced everything that happened, in order', () => {
    const kinds: string[] = [];
    for (const { now } of views) if (kinds.at(-1) !== now.kind) kinds.push(now.kind);
    const order = ['background', 'waiting', 'rest', 'lead-in', 'exercise', 'closing', 'closed'];
    expect(kinds.filter((kind) => kind !== 'prepared')).toEqual(order);
    const air = new Set(views.map(({ now }) => now.air));
    for (const expected of ['transit', 'settling', 'usable']) expect([...air]).toContain(expected);
  });

  it('tells snapshots that keep to the schema, with versions that ascend', () => {
    for (const snapshot of driver.snapshots.slice(-40)) snapshotSchema.parse(snapshot);
    const versions = driver.snapshots.map(({ version }) => version);
    expect(versions).toEqual([...versions].sort((one, other) => one - other));
    expect(new Set(versions).size).toBe(versions.length);
    const times = views.map(({ atMicroseconds }) => atMicroseconds);
    expect(times).toEqual([...times].sort((one, other) => one - other));
  });

  it('sends every reading of the trial once, on trial time, as it is recorded', () => {
    const heartbeats = driver.frames.filter(({ kind }) => kind === 'heartbeat');
    const base = heartbeats.at(-1)?.stream;
    const begins = driver.frames.findIndex((frame) => frame.kind === 'heartbeat' && frame.stream === base);
    const live = driver.frames.slice(begins).filter(({ kind, stream }) => kind === 'live' && stream === 0);
    expect(live.every(({ leftOut }) => leftOut === 0)).toBe(true);
    expect(live.map(({ number }) => number)).toEqual(live.map((_, index) => (live[0]?.number ?? 0) + index));
    const { streams } = readTrial(path, trial);
    const recorded = streams[0];
    const end = recorded?.atMicroseconds.at(-1) ?? 0;
    const sent = live.flatMap(({ times, values }) => [...times].map((at, index) => [at, values[index]]));
    expect(sent.filter(([at]) => (at ?? 0) <= end)).toEqual(
      [...(recorded?.atMicroseconds ?? [])].map((at, index) => [at, recorded?.values[index]]),
    );
  });
});
