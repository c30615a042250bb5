import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { snapshotSchema, type ReplaySnapshot, type Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { createTrialReplay } from '../../src/host/replay/trial-replay.ts';
import { readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { digestOfFile } from '../support/digest-of-file.ts';
import { driveRuntime, type Driver } from '../support/runtime/drive.ts';
import { writeQuickScenario } from '../support/runtime/quick-scenario.ts';

const folder = temporaryFolder();
let driver: Driver;
let file = '';
let trial = '';
let path = '';
let record: TrialRecord;
/** What windows saw while the trial ran: with a hold, a lost photometer and a mark in it. */
const seen: Snapshot[] = [];

beforeAll(async () => {
  writeQuickScenario(folder.path, ['march']);
  driver = await driveRuntime({ folder: folder.path });
  ({ file } = await driver.setUp());
  path = join(folder.path, file);
  await driver.until('every instrument', ({ rig }) => rig.instruments.every(({ state }) => state === 'live'));
  ({ trial } = await driver.procedures.trial.prepare(driver.plan(file), driver.window));
  driver.runtime.onSnapshot((snapshot) => {
    if (snapshot.trial?.ending === 'no') seen.push(snapshot);
  });
  await driver.command('start');
  await driver.until('a background', (snapshot) => snapshot.trial?.now.air === 'usable', 60);
  await driver.command('hold', 'a look at the seals');
  await driver.until('the hold', (snapshot) => snapshot.trial?.phase === 'held', 10);
  await driver.command('mark', 'left cuff taped again');
  await new Promise((resolve) => setTimeout(resolve, 1_500));
  await driver.command('go-on');
  await driver.until('the exercise', (snapshot) => snapshot.trial?.now.kind === 'exercise', 90);
  driver.runtime.injectFault({ fault: 'unplug', instrument: 'photometer', seconds: 1, newName: false });
  await driver.until('the end', (snapshot) => snapshot.trial?.ending === 'done', 120);
  record = readTrial(path, trial);
}, 300_000);
afterAll(async () => {
  await driver.end();
  folder.clear();
});

/** What follows from events and plan alone, to the last digit. */
function told(view: TrialSnapshot) {
  const { phase, heldBecause, reason, exercises, dwells, planned, notes, next, counts, endsAtMicroseconds } = view;
  const { kind, stage, exercise, sinceMicroseconds, untilMicroseconds, port, probe, purpose } = view.now;
  return {
    ...{ phase, heldBecause, reason, dwells, planned, notes, next, endsAtMicroseconds },
    exercises: exercises.map(({ flags: _, ...rest }) => rest),
    now: { kind, stage, exercise, sinceMicroseconds, untilMicroseconds, port, probe, purpose },
    counts: { problems: counts.problems, dwells: counts.dwells, alarms: counts.alarms },
  };
}

/** What follows from readings, which a live trial looks at four times a second. */
function measured(view: TrialSnapshot) {
  return {
    challenge: view.challenge,
    filteredAir: view.filteredAir,
    lanes: view.lanes.filter(({ state }) => state !== 'measuring'),
    flags: view.exercises.map(({ flags }) => flags),
  };
}

describe('a moment of a replay', () => {
  it('shows what windows saw at that moment', () => {
    const replay = createTrialReplay(file, record, readPlannedMethod(path, trial));
    let compared = 0;
    let comparedMeasured = 0;
    const phases = new Set<string>();
    for (const { trial: live } of seen) {
      if (live === null) continue;
      const at = live.atMicroseconds;
      // What happened within a few milliseconds of the snapshot may stand in one and not yet in the other.
      const quiet = record.events.every((event) => Math.abs(event.atMicroseconds - at) > 20_000);
      if (!quiet || at < (record.events[0]?.atMicroseconds ?? 0)) continue;
      const { view } = replay.at(at);
      expect(told(view)).toEqual(told(live));
      expect(Math.abs(view.counts.readings - live.counts.readings)).toBeLessThanOrEqual(6);
      phases.add(`${live.phase} ${live.now.kind}`);
      compared += 1;
    }
    const others = createTrialReplay(file, record, readPlannedMethod(path, trial));
    for (const { trial: live } of seen) {
      if (live === null || live.atMicroseconds < 400_000) continue;
      const before = JSON.stringify(measured(others.at(live.atMicroseconds - 400_000).view));
      const after = measured(others.at(live.atMicroseconds + 20_000).view);
      if (before !== JSON.stringify(after)) continue;
      expect(measured(live)).toEqual(after);
      comparedMeasured += 1;
    }
    expect(compared).toBeGreaterThan(200);
    expect(comparedMeasured).toBeGreaterThan(100);
    expect([...phases]).toEqual(
      expect.arrayContaining(['running background', 'held held', 'running exercise', 'running closing']),
    );
  });

  it('is the same whether one gets there by going on or by going back', () => {
    const on = createTrialReplay(file, record, readPlannedMethod(path, trial));
    const back = createTrialReplay(file, record, readPlannedMethod(path, trial));
    back.at(on.endsAtMicroseconds);
    for (const share of [0.9, 0.6, 0.35, 0.1]) {
      const at = share * on.endsAtMicroseconds;
      const fresh = createTrialReplay(file, record, readPlannedMethod(path, trial)).at(at);
      expect(back.at(at)).toEqual(fresh);
    }
    let going = on.at(0);
    for (let at = 0; at < 0.6 * on.endsAtMicroseconds; at += 700_000) going = on.at(at);
    const there = going.view.atMicroseconds;
    expect(going.view).toEqual(back.at(there).view);
  });

  it('shows instruments and alarms as they were, and offers no hand', () => {
    const replay = createTrialReplay(file, record, readPlannedMethod(path, trial));
    const lost = record.events.find((event) => event.kind === 'problem' && event.problem.code === 'connection-lost');
    const { alarms, rig, view } = replay.at((lost?.atMicroseconds ?? 0) + 300_000);
    expect(rig.instruments.find(({ instrument }) => instrument === 'photometer')?.state).toBe('lost');
    expect(alarms.map(({ alarm }) => alarm)).toContain('connection-lost');
    expect(view.allowed).toEqual([]);
    expect(replay.at(replay.endsAtMicroseconds).rig.instruments.every(({ state }) => state === 'live')).toBe(true);
  });
});

describe('a replay on the host', () => {
  const replayNow = (): ReplaySnapshot => {
    const { replay } = driver.runtime.snapshot();
    if (replay === null) throw new Error('no replay is open');
    return replay;
  };
  const { window } = { window: { window: 1 } };
  let before = '';

  it('is refused while a rig is open, and refuses a rig while it is', async () => {
    await expect(driver.procedures.replay.open({ file, trial }, window)).rejects.toThrow(/a rig is open/);
    await driver.procedures.rig.close({}, window);
    before = digestOfFile(path);
    await driver.procedures.replay.open({ file, trial }, window);
    expect(driver.runtime.snapshot()).toMatchObject({ trial: null, alarms: [], record: null });
    expect(replayNow()).toMatchObject({ playing: false, atMicroseconds: 0, trial });
    const rig = { scenario: 'short', seed: 1 };
    await expect(driver.procedures.rig.startVirtual(rig, window)).rejects.toThrow(/a replay is open/);
    await expect(driver.procedures.replay.open({ file, trial: 't-000000000000' }, window)).rejects.toThrow();
    expect(replayNow().trial).toBe(trial);
  });

  it('plays stored readings through the sample channel, as fast as it is told', async () => {
    driver.send({ message: 'subscribe', streams: [0, 1] });
    const from = driver.frames.length;
    await driver.procedures.replay.change({ playing: true, speed: 30, atMicroseconds: 5_000_000 }, window);
    const began = performance.now();
    await driver.until('half a minute of it', () => replayNow().atMicroseconds > 35_000_000, 10);
    const seconds = (performance.now() - began) / 1000;
    await driver.procedures.replay.change({ playing: false }, window);
    const paused = replayNow().atMicroseconds;
    expect((paused - 5_000_000) / 1e6 / seconds).toBeGreaterThan(20);
    expect((paused - 5_000_000) / 1e6 / seconds).toBeLessThan(40);
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect(replayNow().atMicroseconds).toBe(paused);

    const frames = driver.frames.slice(from);
    const live = frames.filter(({ kind, stream }) => kind === 'live' && stream === 0);
    const times = live.flatMap((frame) => [...frame.times]);
    const values = live.flatMap((frame) => [...frame.values]);
    const [stream] = record.streams;
    const stored = [...(stream?.atMicroseconds ?? [])].flatMap((at, index) =>
      5_000_000 <= at && at < (times.at(-1) ?? 0) + 1 ? [[at, stream?.values[index]]] : [],
    );
    expect(times.length).toBeGreaterThan(500);
    expect(times.map((at, index) => [at, values[index]])).toEqual(stored);
    const rates = frames.filter(({ kind }) => kind === 'heartbeat').map((frame) => frame.values[0] ?? 1);
    expect(rates).toContain(30);
    expect(rates.at(-1)).toBe(0);
  });

  it('goes anywhere, tells no reading of later, and is what every window sees', async () => {
    await driver.procedures.replay.change({ atMicroseconds: 20_000_000 }, window);
    expect(replayNow().view.atMicroseconds).toBe(20_000_000);
    const asked = driver.frames.length;
    driver.send({
      message: 'history',
      request: 77,
      of: null,
      stream: 0,
      fromMicroseconds: 0,
      toMicroseconds: 60_000_000,
      mostSamples: 10_000,
    });
    await driver.until('the history', () => driver.frames.slice(asked).some(({ kind }) => kind === 'history-end'), 5);
    const history = driver.frames.slice(asked).filter(({ kind, number }) => kind === 'history' && number === 77);
    const times = history.flatMap((frame) => [...frame.times]);
    expect(times.length).toBeGreaterThan(300);
    expect(Math.max(...times)).toBeLessThan(20_000_000);
    const joined = { window: 2 };
    driver.runtime.windowOpened(joined);
    expect(snapshotSchema.parse(driver.runtime.snapshot()).replay?.atMicroseconds).toBe(20_000_000);
    driver.runtime.windowClosed(joined);
  });

  it('goes by so much from where it is, and to the next speed, however fast one asks', async () => {
    const { change } = driver.procedures.replay;
    await change({ atMicroseconds: 40_000_000, speed: 1 }, window);
    const by = { byMicroseconds: 10_000_000 };
    const faster = { step: 1 } as const;
    await Promise.all([by, by, faster, faster].map((press) => change(press, window)));
    expect(replayNow()).toMatchObject({ atMicroseconds: 60_000_000, speed: 4 });
    await change({ byMicroseconds: -3_600_000_000 }, window);
    for (let press = 0; press < 9; press += 1) await change({ step: 1 }, window);
    expect(replayNow()).toMatchObject({ atMicroseconds: 0, speed: 60 });
    for (let press = 0; press < 9; press += 1) await change({ step: -1 }, window);
    expect(replayNow().speed).toBe(0.5);
  });

  it('stops at the end, and leaves the study as it was', async () => {
    const { endsAtMicroseconds } = replayNow();
    await driver.procedures.replay.change({ atMicroseconds: endsAtMicroseconds - 2_000_000, playing: true }, window);
    await driver.until('the end', () => !replayNow().playing, 10);
    expect(replayNow()).toMatchObject({ atMicroseconds: endsAtMicroseconds, view: { phase: 'closed' } });
    await driver.procedures.replay.close({}, window);
    expect(driver.runtime.snapshot().replay).toBeNull();
    expect(digestOfFile(path)).toBe(before);
    await expect(driver.procedures.replay.change({ playing: true }, window)).rejects.toThrow(/no replay is open/);
  });
});
