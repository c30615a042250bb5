import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { snapshotSchema } from '../../src/bridge/snapshot.ts';
import { trialResultSchema } from '../../src/bridge/result.ts';
import type { TrialResult } from '../../src/bridge/result.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { join } from 'node:path';
import { readTrial } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { driveRuntime } from '../support/runtime/drive.ts';
import type { Driver } from '../support/runtime/drive.ts';
import { quickProbes, writeQuickScenario } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
let driver: Driver;
let file = '';
let trial = '';
let result: TrialResult;
const views: TrialSnapshot[] = [];

beforeAll(async () => {
  writeQuickScenario(folder.path, ['march']);
  driver = await driveRuntime({ folder: folder.path });
  ({ file } = await driver.setUp());
  driver.send({ message: 'subscribe', streams: [0, 1, 2] });
  await driver.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  ({ trial } = await driver.procedures.trial.prepare(driver.plan(file), driver.window));
  await driver.command('start');
  await driver.until(
    'the result',
    (snapshot) => {
      if (snapshot.trial !== null) views.push(snapshot.trial);
      return snapshot.trial?.ending === 'done' || snapshot.trial?.ending === 'failed';
    },
    150,
  );
  result = await driver.procedures.trial.result({ file, trial }, driver.window);
}, 240_000);
afterAll(async () => {
  await driver.end();
  folder.clear();
});

describe('a trial on the live host', () => {
  it('ends sealed, assessed, and intact', () => {
    expect(driver.trial().endingFailure).toBeNull();
    expect(driver.trial().ending).toBe('done');
    expect(trialResultSchema.parse(result).sealed).not.toBeNull();
    expect(verify(join(folder.path, file))).toMatchObject({ intact: true, trials: [{ sealed: true }] });
    const cells = result.assessment?.cells ?? [];
    expect(cells.map(({ exercise, probe }) => [exercise, probe])).toEqual(quickProbes.map((probe) => ['march', probe]));
    expect(cells.every(({ windowPercent }) => windowPercent !== null)).toBe(true);
    expect(driver.runtime.snapshot().studies[0]?.trials).toMatchObject([
      { trial, standing: 'assessed', virtual: true, operator: 'anna', cells: { all: 2 } },
    ]);
  });

  it('shows lanes that agree with the assessment but for what drifts between zeros', () => {
    for (const cell of result.assessment?.cells ?? []) {
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
    expect(kinds).toEqual(
      ['prepared', 'background', 'waiting', 'rest', 'lead-in', 'exercise', 'closing', 'closed'].filter(
        (kind) => kinds[0] === 'prepared' || kind !== 'prepared',
      ),
    );
    const air = new Set(views.map(({ now }) => now.air));
    for (const expected of ['transit', 'settling', 'usable']) expect([...air]).toContain(expected);
  });

  it('tells snapshots that keep to the schema, with versions that ascend, at most twenty a second', () => {
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
    const { streams } = readTrial(join(folder.path, file), trial);
    const recorded = streams[0];
    const end = recorded?.atMicroseconds.at(-1) ?? 0;
    const sent = live.flatMap(({ times, values }) => [...times].map((at, index) => [at, values[index]]));
    expect(sent.filter(([at]) => (at ?? 0) <= end)).toEqual(
      [...(recorded?.atMicroseconds ?? [])].map((at, index) => [at, recorded?.values[index]]),
    );
  });
});
