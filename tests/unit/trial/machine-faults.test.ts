import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { restoreMachine } from '../../../src/trial/restore.ts';
import { Drive } from './drive.ts';

const schedule = compileSchedule(demo.series, demo.rig);
const entryStep = 7;
const march = schedule.exercises[0]!;
const filteredAir = 7;
const second = 1_000_000;

function started(): Drive {
  const drive = new Drive(schedule);
  drive.act('start', 5 * second);
  return drive;
}

/** Inside the second probe dwell of the first exercise, 4 s after it began. */
function inSecondDwell(): Drive {
  const drive = started();
  drive.runToStep(march.firstProbeStep + 1);
  drive.acknowledge();
  drive.send({ input: 'time', atMicroseconds: drive.state.nowMicroseconds + 4 * second });
  return drive;
}

describe('the challenge', () => {
  function inEntry(): Drive {
    const drive = started();
    drive.runToStep(entryStep);
    return drive;
  }
  const unsteady = { input: 'challenge-judged', steady: false, rangePercent: 30, meanReading: 8 } as const;

  it('is not judged before the least time, then every second, and counts from when it is steady', () => {
    const drive = inEntry();
    const began = drive.state.nowMicroseconds;
    drive.acknowledge();
    expect(drive.wakeAt).toBe(began + 60 * second);
    drive.send({ ...unsteady, steady: true, atMicroseconds: began + 10 * second });
    expect(drive.state.dwell?.step).toBe(entryStep);
    for (let at = began + 60 * second; at < began + 70 * second; at += second) {
      expect(drive.send({ input: 'time', atMicroseconds: at })).toContainEqual({ effect: 'judge-challenge' });
      drive.send({ ...unsteady, atMicroseconds: at });
    }
    expect(drive.of('challenge-judged')).toHaveLength(0);
    // An answer that nobody asked for decides nothing.
    drive.send({ ...unsteady, steady: true, atMicroseconds: drive.state.nowMicroseconds });
    expect(drive.state.dwell?.step).toBe(entryStep);
    drive.send({ input: 'time', atMicroseconds: began + 70 * second });
    drive.send({ ...unsteady, steady: true, atMicroseconds: began + 70 * second });
    expect(drive.of('challenge-judged')).toMatchObject([{ steady: true, atMicroseconds: began + 70 * second }]);
    expect(drive.state.dwell).toMatchObject({ step: march.restStep, plannedAtMicroseconds: began + 70 * second });
  });

  function tooLong(answering: boolean): Drive {
    const drive = inEntry();
    drive.acknowledge();
    while (drive.state.phase === 'running' && drive.wakeAt !== null) {
      const atMicroseconds = drive.wakeAt;
      drive.send({ input: 'time', atMicroseconds });
      if (answering) drive.send({ ...unsteady, atMicroseconds });
    }
    return drive;
  }

  it('holds after the longest time, leaves the reference to be watched, and goes on when told to', () => {
    const drive = tooLong(true);
    expect(drive.state).toMatchObject({ phase: 'held', held: 'challenge-unsteady', request: null });
    expect(drive.of('challenge-judged')).toMatchObject([{ steady: false, rangePercent: 30 }]);
    const entry = drive.of('dwell-began').find((event) => event.dwell.step === entryStep);
    expect(drive.of('dwell-ended').at(-1)!.atMicroseconds - entry!.atMicroseconds).toBe(300 * second);
    drive.act('go-on');
    expect(drive.state.dwell?.step).toBe(march.restStep);
    expect(drive.of('phase-changed').at(-1)?.reason).toContain('not steady');
  });

  it('holds as well when no judgement comes', () => {
    const drive = tooLong(false);
    expect(drive.state.held).toBe('challenge-unsteady');
    expect(drive.of('challenge-judged')).toMatchObject([{ steady: false, rangePercent: null, meanReading: null }]);
  });

  it('can be waited for again, or given up with the valve parked', () => {
    const again = tooLong(true);
    again.act('repeat');
    expect(again.state.dwell?.step).toBe(entryStep);
    const given = tooLong(true);
    expect(given.act('close')).toContainEqual(expect.objectContaining({ effect: 'request-port', port: filteredAir }));
    expect(given.state.phase).toBe('closed');
  });
});

describe('the port', () => {
  it('counts from when a late acknowledgement came; an old answer counts for nothing', () => {
    const drive = started();
    const old = drive.state.request!.request;
    drive.runToStep(1);
    const seen = drive.events.length;
    drive.send({ input: 'port-acknowledged', atMicroseconds: drive.state.nowMicroseconds + second, request: old });
    drive.send({ input: 'port-unconfirmed', atMicroseconds: drive.state.nowMicroseconds, request: old, detail: 'old' });
    expect(drive.events).toHaveLength(seen);
    const began = drive.of('dwell-began').at(-1)!.atMicroseconds;
    drive.acknowledge(3 * second);
    expect(drive.of('port-acknowledged').at(-1)).toMatchObject({
      dwell: 1,
      port: 1,
      atMicroseconds: began + 4 * second,
    });
    drive.acknowledge();
    expect(drive.of('port-acknowledged').filter((event) => event.dwell === 1)).toHaveLength(1);
  });

  it('goes on unconfirmed and asks again every 2 s while that leaves something to measure', () => {
    const drive = started();
    drive.runToStep(1);
    const began = drive.state.nowMicroseconds;
    while (drive.state.dwell?.step === 1 && drive.wakeAt !== null) {
      if (drive.state.request?.status === 'requested') {
        const { request } = drive.state.request;
        const atMicroseconds = drive.state.nowMicroseconds;
        drive.send({ input: 'port-unconfirmed', atMicroseconds, request, detail: 'confirmed port 3' });
      }
      drive.send({ input: 'time', atMicroseconds: drive.wakeAt });
    }
    const asked = drive.of('port-requested').filter((event) => event.dwell === 1);
    expect(asked.map((event) => (event.atMicroseconds - began) / second)).toEqual([0, 2, 4, 6, 8, 10, 12, 14, 16]);
    expect(drive.of('port-unconfirmed').filter((event) => event.dwell === 1)).toHaveLength(9);
    expect(drive.of('dwell-ended').at(-1)).toMatchObject({
      dwell: 1,
      complete: true,
      atMicroseconds: began + 18 * second,
    });
  });

  it('says so when no answer came at all', () => {
    const drive = started();
    drive.send({ input: 'time', atMicroseconds: drive.wakeAt! });
    expect(drive.of('port-unconfirmed')).toMatchObject([{ dwell: 0, detail: 'no answer before the dwell ended' }]);
  });

  it('is not blamed for an answer that a repeat gave it no time for', () => {
    const drive = started();
    drive.act('repeat');
    drive.act('repeat');
    expect(drive.of('dwell-ended')).toMatchObject([{ complete: false }, { complete: false }]);
    expect(drive.of('port-unconfirmed')).toEqual([]);
  });

  it('is asked for filtered air a bounded number of times after a stop', () => {
    const drive = started();
    drive.act('stop');
    for (let turn = 0; turn < 20; turn += 1) {
      if (drive.state.request?.status === 'requested') {
        const { request } = drive.state.request;
        drive.send({ input: 'port-unconfirmed', atMicroseconds: drive.state.nowMicroseconds, request, detail: 'lost' });
      }
      if (drive.wakeAt !== null) drive.send({ input: 'time', atMicroseconds: drive.wakeAt });
    }
    expect(drive.of('port-requested').filter((event) => event.dwell === -1)).toHaveLength(5);
    expect(drive.wakeAt).toBeNull();
  });
});

describe('a program that did not run', () => {
  it('holds when a switch comes more than 2 s late, and not before', () => {
    const drive = inSecondDwell();
    const deadline = drive.wakeAt!;
    drive.send({ input: 'time', atMicroseconds: deadline + 2 * second });
    expect(drive.state.phase).toBe('running');
    expect(drive.of('dwell-began').at(-1)).toMatchObject({ plannedAtMicroseconds: deadline });
    const late = drive.wakeAt! + 2 * second + 1;
    drive.send({ input: 'time', atMicroseconds: late });
    expect(drive.state).toMatchObject({ phase: 'held', held: 'late' });
  });

  it('is held as of the moment of loss, from what was recorded until then', () => {
    const drive = inSecondDwell();
    const restored = restoreMachine(drive.events, schedule);
    const after = new Drive(schedule, restored!);
    const lost = drive.state.nowMicroseconds + second;
    after.send({
      input: 'interrupted',
      lostAtMicroseconds: lost,
      atMicroseconds: lost + 500 * second,
      reason: 'restart',
    });
    expect(after.events.map((event) => [event.kind, event.atMicroseconds - lost])).toEqual([
      ['dwell-ended', 0],
      ['exercise-ended', 0],
      ['phase-changed', 0],
      ['cue', 500 * second],
      ['port-requested', 500 * second],
    ]);
    expect(after.state.held).toBe('interrupted');
    after.act('go-on');
    expect(after.state.dwell).toMatchObject({ step: march.zeroStep, dwell: drive.state.nextDwell });
    after.runUntil(() => after.state.phase === 'closed');
    expect(after.state.attempts).toEqual(new Array(10).fill(1));
  });

  it('takes zero and background again when it is lost among them, running or held; a mere hold costs one dwell', () => {
    const among = (): Drive => {
      const drive = started();
      drive.runToStep(3);
      drive.send({ input: 'time', atMicroseconds: drive.state.nowMicroseconds + 4 * second });
      return drive;
    };
    const held = among();
    held.act('hold');
    const mereHold = new Drive(schedule, held.state);
    mereHold.act('go-on');
    expect(mereHold.state.dwell).toMatchObject({ step: 3, dwell: 4 });

    for (const drive of [among(), held]) {
      const after = new Drive(schedule, restoreMachine(drive.events, schedule)!);
      const lost = drive.state.nowMicroseconds + second;
      after.send({ input: 'interrupted', lostAtMicroseconds: lost, atMicroseconds: lost + 1e7, reason: 'restart' });
      expect(after.state.phase).toBe('held');
      after.act('go-on');
      after.runToStep(entryStep);
      expect(after.of('dwell-began').map(({ dwell }) => dwell.step)).toEqual([0, 1, 2, 3, 4, 5, 6, entryStep]);
    }
  });

  it('stays what it was when it was not running', () => {
    const drive = inSecondDwell();
    drive.act('hold');
    drive.send({ input: 'interrupted', lostAtMicroseconds: 1, atMicroseconds: 900 * second, reason: 'wake' });
    expect(drive.state).toMatchObject({ phase: 'held', held: 'operator' });
    expect(drive.state.request).toMatchObject({ dwell: -1, port: filteredAir, status: 'requested' });
    const prepared = new Drive(schedule);
    prepared.send({ input: 'interrupted', lostAtMicroseconds: 1, atMicroseconds: 2, reason: 'wake' });
    expect(prepared.state.phase).toBe('prepared');
    expect(prepared.events).toEqual([]);
  });

  it('restores nothing from a trial without a state, and ignores an unreadable one', () => {
    expect(restoreMachine([], schedule)).toBeNull();
    const drive = inSecondDwell();
    const damaged = drive.events.map((event) =>
      event.kind === 'dwell-began' ? { ...event, machine: { phase: 7 } } : event,
    );
    expect(restoreMachine(damaged, schedule)?.phase).toBe('running');
  });
});
