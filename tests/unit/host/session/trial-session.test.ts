import { describe, expect, it } from 'vitest';
import { createLineFramer } from '../../../../drivers/registry.ts';
import { scenarios } from '../../../../drivers/virtual-rig/index.ts';
import {
  createAcquisition,
  type Acquisition,
  type AcquisitionSink,
} from '../../../../src/host/acquisition/acquisition.ts';
import { createTrialClock } from '../../../../src/host/clock/trial-clock.ts';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';
import { createInProcessRig } from '../../../../src/host/rig/in-process-rig.ts';
import { createTrialSession, type TrialSessionOptions } from '../../../../src/host/session/trial-session.ts';
import type { Acknowledgement, TrialRecorder } from '../../../../src/host/store/contract.ts';
import type { TrialEvent } from '../../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../../src/series/compile.ts';
import { createFakeMachine } from '../../../support/fake-machine.ts';

const second = 1_000_000;

/** A record in memory, with a disk that a test can stop. */
function createMemoryRecorder() {
  const listeners = new Set<(acknowledgement: Acknowledgement) => void>();
  const times: number[] = [];
  const wireTimes: number[] = [];
  const events: TrialEvent[] = [];
  let acknowledgement: Acknowledgement = { link: 0, throughMicroseconds: 0 };
  let through = 0;
  const disk = { takes: true, fails: false };
  const acknowledge = (): void => {
    acknowledgement = { link: acknowledgement.link + 1, throughMicroseconds: through };
    for (const listener of listeners) listener(acknowledgement);
  };
  const recorder: TrialRecorder = {
    trial: 't-000000000000',
    reading: (streamIndex, atMicroseconds) => {
      if (streamIndex === 0) times.push(atMicroseconds);
    },
    wire: (_instrument, _direction, atMicroseconds) => void wireTimes.push(atMicroseconds),
    event: (event) => void events.push(event),
    handOver(boundary) {
      if (disk.fails) throw new Error('the writer has ended');
      through = boundary;
      if (disk.takes) acknowledge();
    },
    beginSegment: () => undefined,
    acknowledged: () => acknowledgement,
    onAcknowledged(listener) {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
    settled: () => Promise.resolve(),
    seal: () => Promise.resolve({ head: '', count: 0, seal: 1, sealDigest: '' }),
    abandon: () => Promise.resolve(),
  };
  return { recorder, disk, acknowledge, times, wireTimes, events };
}

function createBench() {
  const clock = createVirtualClock(3 * second);
  const machine = createFakeMachine(clock);
  const stage = createInProcessRig({ scenario: scenarios.short, seed: 2, clock, truth: null });
  const { rig, series } = stage;
  const acquire = (sink: AcquisitionSink): Acquisition =>
    createAcquisition({
      rig,
      clock,
      lines: createLineFramer,
      sink,
      openTransport: (instrument) => stage.open(instrument, clock.now),
      longestRetrySeconds: 2,
    });
  const open = (
    take: TrialSessionOptions['acquire'] = acquire,
    resume: TrialSessionOptions['resume'] = null,
    beginsAtMicroseconds = 0,
  ) => {
    const memory = createMemoryRecorder();
    const session = createTrialSession({
      rig,
      series,
      schedule: compileSchedule(series, rig),
      clock: createTrialClock({
        source: clock,
        bootId: 'b-000000000000',
        wallNow: () => new Date(machine.wallNow() / 1000),
        segment: 0,
        reason: 'start',
        beginsAtMicroseconds,
      }),
      acquire: take,
      machine,
      recorder: memory.recorder,
      limits: { heartRate: null, watched: [], contacts: [], contactClearSeconds: 5 },
      resume,
    });
    return { session, ...memory };
  };
  const run = (seconds: number) => clock.run({ until: clock.now() + seconds * second });
  return { clock, stage, rig, acquire, open, run };
}

describe('a record that fails', () => {
  it('ends the session when it fails inside the timer that hands over', async () => {
    const { open, run, stage } = createBench();
    const { session, disk } = open();
    const outcome = session.finished.then(
      () => 'finished',
      (error: unknown) => String(error),
    );
    void session.begin();
    await run(2);
    disk.fails = true;
    await run(2);
    expect(await Promise.race([outcome, Promise.resolve('still waiting')])).toContain('the writer has ended');
    disk.fails = false;
    await session.end();
    await stage.stop();
  });

  it('raises an alarm when a commit is older than 3 s, and clears it when the disk has taken everything', async () => {
    const { open, run, stage, clock } = createBench();
    const { session, disk, events, acknowledge } = open();
    void session.begin();
    await run(10.1);
    disk.takes = false;
    const refusedAt = clock.now() - 3 * second;
    await run(3.5);
    const late = (): TrialEvent[] =>
      events.filter(
        (event) => (event.kind === 'alarm-raised' || event.kind === 'alarm-cleared') && event.alarm === 'commit-late',
      );
    expect(late()).toEqual([]);
    await run(1.5);
    expect(late()).toMatchObject([{ kind: 'alarm-raised', instrument: null }]);
    expect((late()[0]?.atMicroseconds ?? 0) - refusedAt).toBeGreaterThan(3.9 * second);
    await run(20);
    expect(late()).toHaveLength(1);
    acknowledge();
    disk.takes = true;
    await run(2);
    expect(late().map((event) => event.kind)).toEqual(['alarm-raised', 'alarm-cleared']);
    expect(session.alarms).toMatchObject([{ alarm: 'commit-late', acknowledged: false }]);
    await session.end();
    expect(session.noteMark('p1', 'too late')).toMatchObject({ accepted: false });
    expect(session.acknowledgeAlarm('commit-late', null, 'p1', '')).toMatchObject({ accepted: false });
    await stage.stop();
  });
});

describe('a trial that is taken up after its host was lost', () => {
  const standing = {
    alarm: 'valve-unconfirmed',
    instrument: 'selector-valve',
    detail: 'no answer',
    raisedAtMicroseconds: 4 * second,
    clearedAtMicroseconds: null,
    acknowledged: false,
  };

  /** Runs a trial for 10 s, loses it, and takes it up 5 s later with what stood then. */
  async function takeUp(bench: ReturnType<typeof createBench>, take: TrialSessionOptions['acquire'] = bench.acquire) {
    const { open, run } = bench;
    const lost = open();
    void lost.session.begin();
    await run(2);
    lost.session.command('start', 'anna', '');
    await run(8);
    await lost.session.end();
    const seen = { ...standing, alarm: 'time-lost', instrument: null, acknowledged: true };
    const resume = { machine: lost.session.machine, lostAtMicroseconds: 10 * second, alarms: [standing, seen] };
    const next = open(take, resume, 15 * second);
    void next.session.begin();
    return next;
  }

  it('keeps the alarms that nobody has seen, with their time, and calls their causes gone', async () => {
    const bench = createBench();
    const { session, events } = await takeUp(bench);
    await bench.run(10);
    expect(session.alarms).toMatchObject([{ alarm: standing.alarm, raisedAtMicroseconds: 4 * second }]);
    expect(session.alarms[0]?.clearedAtMicroseconds).toBe(15 * second);
    expect(events.filter(({ kind }) => kind === 'alarm-cleared')).toHaveLength(2);
    expect(events.filter(({ kind }) => kind === 'alarm-raised')).toEqual([]);
    expect(session.machine.phase).toBe('held');
    expect(session.acknowledgeAlarm(standing.alarm, standing.instrument, 'anna', 'seen')).toEqual({ accepted: true });
    expect(session.alarms).toEqual([]);
    await session.end();
    await bench.stage.stop();
  });

  it('does not call the valve unconfirmed while its port is still being opened, but soon after', async () => {
    const bench = createBench();
    const never = (sink: AcquisitionSink): Acquisition => ({
      ...bench.acquire(sink),
      begin: () => undefined,
      selector: () => undefined,
      isConnected: () => false,
      end: () => Promise.resolve(),
    });
    const { session, events } = await takeUp(bench, never);
    const raised = (): TrialEvent[] =>
      events.filter((event) => event.kind === 'alarm-raised' && event.alarm === 'valve-unconfirmed');
    await bench.run(4.5);
    expect(events.filter(({ kind }) => kind === 'port-unconfirmed').length).toBeGreaterThan(1);
    expect(raised()).toEqual([]);
    await bench.run(3);
    expect(raised()).toHaveLength(1);
    await session.end();
    await bench.stage.stop();
  });
});

describe('one acquisition', () => {
  it('serves one trial after the other, each in its own trial time, without closing a port', async () => {
    const { open, run, stage, rig, clock } = createBench();
    let sink: AcquisitionSink | null = null;
    let opened = 0;
    const wires = { open: stage.open };
    const acquisition = createAcquisition({
      rig,
      clock,
      lines: createLineFramer,
      longestRetrySeconds: 2,
      openTransport(instrument) {
        opened += 1;
        return wires.open(instrument, clock.now);
      },
      sink: {
        wire: (...words) => sink?.wire(...words),
        reading: (...words) => sink?.reading(...words),
        problem: (...words) => sink?.problem(...words),
      },
    });
    const join: TrialSessionOptions['acquire'] = (joining) => ({
      ...acquisition,
      begin() {
        sink = joining;
      },
      async end() {
        sink = null;
        await Promise.resolve();
      },
    });
    acquisition.begin();
    await run(5);
    for (const trial of [1, 2]) {
      const { session, times, wireTimes, events } = open(join);
      void session.begin();
      await run(0.01);
      expect(session.command('start', 'p1', ''), `trial ${trial}`).toEqual({ accepted: true });
      await run(8);
      await session.end();
      const heard = times.length;
      await run(4);
      expect(times).toHaveLength(heard);
      expect(heard).toBeGreaterThan(150);
      expect(Math.min(...times, ...wireTimes)).toBeGreaterThanOrEqual(0);
      expect(times[0]).toBeLessThan(0.06 * second);
      expect(times.at(-1)).toBeLessThanOrEqual(8.01 * second);
      const [asked] = events.filter((event) => event.kind === 'port-requested');
      const [answered] = events.filter((event) => event.kind === 'port-acknowledged');
      expect(asked?.atMicroseconds).toBe(0.01 * second);
      expect((answered?.atMicroseconds ?? 0) - (asked?.atMicroseconds ?? 0)).toBeLessThan(0.5 * second);
    }
    expect(opened).toBe(rig.instruments.length);
    await acquisition.end();
    await stage.stop();
  });
});
