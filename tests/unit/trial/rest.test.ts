import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import type { Exercise } from '../../../src/model/series.ts';
import { trialEventSchema } from '../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import type { Schedule } from '../../../src/series/schedule.ts';
import { possibleActions } from '../../../src/trial/actions.ts';
import { createMachineFollower } from '../../../src/trial/follow.ts';
import { trialMachineSchema } from '../../../src/trial/machine-state.ts';
import type { TrialEffect } from '../../../src/trial/machine-seam.ts';
import { lengtheningMicroseconds, mostLengthenedMicroseconds } from '../../../src/trial/rest.ts';
import { Drive } from './drive.ts';

const second = 1_000_000;
const { rig, series } = demo;
const three = series.exercises.slice(0, 3);
const schedule = compileSchedule({ ...series, exercises: three }, rig);
const march = schedule.exercises[0]!;
const bends = schedule.exercises[1]!;
const [rested] = three;
const restSeconds = rested!.restSeconds;
const zeroAtSeconds = restSeconds - rested!.restZeroSeconds;

/** With a reference and then a zero; the reference alone, no zero before the movement; the zero alone. */
const schedules: readonly Schedule[] = [
  schedule,
  changed(() => ({ restZeroSeconds: 0 })),
  changed(() => ({ restZeroSeconds: 0, leadInSeconds: 0 })),
  changed((one) => ({ restZeroSeconds: one.restSeconds })),
];

function changed(change: (one: Exercise) => Partial<Exercise>): Schedule {
  return compileSchedule({ ...series, exercises: three.map((one) => ({ ...one, ...change(one) })) }, rig);
}

function inRest(seconds: number): Drive {
  const drive = new Drive(schedule);
  drive.act('start', 5 * second);
  drive.runToStep(bends.restStep);
  drive.acknowledge();
  const at = drive.state.dwell!.plannedAtMicroseconds + seconds * second;
  drive.runUntil(() => (drive.wakeAt ?? Infinity) > at);
  drive.send({ input: 'time', atMicroseconds: at });
  return drive;
}

const refusalOf = (effects: readonly TrialEffect[]): string =>
  effects.flatMap((effect) => (effect.effect === 'refused' ? [effect.reason] : [])).join();

/** A trial from start to its end; in the rest before each exercise it is lengthened at these offsets from its begin. */
function play(which: number, presses: readonly (readonly number[])[], late: () => number = () => 0): Drive {
  const plan = schedules[which]!;
  const drive = new Drive(plan);
  drive.act('start', 0);
  for (const [index, offsets] of presses.entries()) {
    const { restStep } = plan.exercises[index]!;
    drive.runUntil(() => drive.state.dwell?.step === restStep, late);
    const began = drive.state.dwell!.plannedAtMicroseconds;
    for (const offset of [...offsets].sort((a, b) => a - b)) {
      const at = began + offset;
      drive.runUntil(() => drive.wakeAt === null || drive.wakeAt > at, late);
      drive.act('extend-rest', at);
    }
  }
  drive.runUntil(() => drive.state.phase === 'closed', late);
  return drive;
}

const presses = fc.array(fc.array(fc.nat({ max: restSeconds * second - 100_000 }), { maxLength: 6 }), {
  minLength: 3,
  maxLength: 3,
});

describe('a rest that is lengthened', () => {
  it('makes the trial longer by exactly 30 s a press, moves nothing else and keeps the order of ports', () => {
    const undisturbed = schedules.map((_, which) => play(which, [[], [], []]));
    let pressed = 0;
    fc.assert(
      fc.property(fc.nat({ max: schedules.length - 1 }), presses, fc.nat({ max: 30_000 }), (which, offsets, late) => {
        const plain = undisturbed[which]!;
        const drive = play(which, offsets, () => late);
        const count = offsets.flat().length;
        pressed += count;
        expect(drive.of('rest-lengthened')).toHaveLength(count);
        expect(drive.state.phase).toBe('closed');
        expect(drive.of('port-requested').map(({ port }) => port)).toEqual(
          plain.of('port-requested').map(({ port }) => port),
        );
        expect(drive.of('cue').map(({ cue, exercise }) => [cue, exercise])).toEqual(
          plain.of('cue').map(({ cue, exercise }) => [cue, exercise]),
        );
        // On the plan to the microsecond from the end of the entry on, at which the plan begins anew.
        const first = schedules[which]!.exercises[0]!.restStep;
        const begins = drive.of('dwell-began');
        const origin = begins[first]!.plannedAtMicroseconds - plain.of('dwell-began')[first]!.plannedAtMicroseconds;
        for (const [index, before] of plain.of('dwell-began').entries()) {
          if (index < first) continue;
          const dwell = begins[index]!;
          const earlier = drive.of('rest-lengthened').filter((event) => event.dwell < index).length;
          expect(dwell.plannedAtMicroseconds - origin).toBe(before.plannedAtMicroseconds + earlier * 30 * second);
        }
        for (const [index, moved] of drive.of('exercise-began').entries()) {
          const made = offsets.slice(0, index + 1).flat().length;
          const planned = plain.of('exercise-began')[index]!.atMicroseconds + made * 30 * second + origin;
          expect(moved.atMicroseconds - planned).toBeGreaterThanOrEqual(0);
          expect(moved.atMicroseconds - planned).toBeLessThanOrEqual(late);
        }
      }),
      { numRuns: 300, seed: 7 },
    );
    expect(pressed).toBeGreaterThan(1000);
  });

  it('is longer in the reference while the valve is on it, and the zero comes after it as long as ever', () => {
    const drive = inRest(2);
    const until = drive.state.dwell!.deadlineMicroseconds;
    drive.act('extend-rest');
    expect(drive.state.dwell).toMatchObject({
      step: bends.restStep,
      deadlineMicroseconds: until + 30 * second,
      lengthenedMicroseconds: 30 * second,
    });
    expect(drive.wakeAt).toBe(until + 30 * second);
    drive.runToStep(bends.firstProbeStep);
    const [, zero, probe] = drive.of('dwell-began').slice(-3);
    expect(zero!.plannedAtMicroseconds).toBe(until + 30 * second);
    const zeroStep = schedule.steps[bends.zeroStep ?? -1]!;
    expect(probe!.plannedAtMicroseconds - zero!.plannedAtMicroseconds).toBe(zeroStep.durationMicroseconds);
  });

  it('is longer in the zero once the valve is there, and the subject begins as much later', () => {
    const drive = inRest(zeroAtSeconds + 1);
    expect(drive.state.dwell?.step).toBe(bends.zeroStep);
    const rest = drive.state.dwell!.plannedAtMicroseconds;
    drive.act('extend-rest');
    drive.act('extend-rest');
    drive.runUntil(() => drive.of('exercise-began').length === 2);
    const lengthened = rest + (restSeconds - zeroAtSeconds + 60) * second;
    expect(drive.of('exercise-began').at(-1)).toMatchObject({ exercise: bends.exercise, atMicroseconds: lengthened });
    expect(drive.state.restLengthenedMicroseconds).toBe(0);
    drive.runToStep(bends.firstProbeStep);
    const leadIn = three[1]!.leadInSeconds * second;
    expect(drive.of('dwell-began').at(-1)?.plannedAtMicroseconds).toBe(lengthened + leadIn);
  });

  it('is recorded with who did it and by how much, in a form that can be read', () => {
    const drive = inRest(2);
    drive.act('extend-rest');
    const event = drive.events.at(-1)!;
    expect(event).toEqual({
      kind: 'rest-lengthened',
      atMicroseconds: drive.state.nowMicroseconds,
      dwell: drive.state.dwell?.dwell,
      exercise: bends.exercise,
      byMicroseconds: lengtheningMicroseconds,
      person: 'p1',
      note: '',
    });
    expect(trialEventSchema.parse(event)).toEqual(event);
    expect(drive.of('operator-action').map(({ action }) => action)).toEqual(['start']);
  });

  it('can be longer by ten minutes in all, over reference and zero, and the next one begins to count anew', () => {
    const drive = inRest(2);
    for (let press = 0; press < 19; press += 1) expect(refusalOf(drive.act('extend-rest'))).toBe('');
    drive.runToStep(bends.zeroStep ?? -1);
    expect(refusalOf(drive.act('extend-rest'))).toBe('');
    expect(drive.state.restLengthenedMicroseconds).toBe(mostLengthenedMicroseconds);
    const before = JSON.stringify(drive.state);
    expect(refusalOf(drive.act('extend-rest'))).toMatch(/^This rest is 10 minutes longer already/);
    expect(JSON.stringify(drive.state)).toBe(before);
    drive.runToStep(schedule.exercises[2]!.restStep);
    expect(refusalOf(drive.act('extend-rest'))).toBe('');
    expect(drive.of('rest-lengthened')).toHaveLength(21);
  });

  it('is done again at its planned length after a hold', () => {
    const drive = inRest(2);
    drive.act('extend-rest');
    drive.act('hold');
    expect(drive.state.restLengthenedMicroseconds).toBe(0);
    drive.act('go-on', drive.state.nowMicroseconds + 5 * second);
    expect(drive.state.dwell).toMatchObject({
      step: bends.restStep,
      lengthenedMicroseconds: 0,
      deadlineMicroseconds: drive.state.nowMicroseconds + zeroAtSeconds * second,
    });
  });

  it('asks again for a port that had been given up when the dwell becomes long enough for an answer', () => {
    const drive = inRest(zeroAtSeconds - 3);
    drive.runToStep(bends.restStep);
    const { request } = drive.state;
    const lost = new Drive(schedule, { ...drive.state, request: { ...request!, status: 'requested' } });
    const now = lost.state.nowMicroseconds;
    const unconfirmed = { input: 'port-unconfirmed', atMicroseconds: now, request: request!.request } as const;
    lost.send({ ...unconfirmed, detail: 'no answer' });
    expect(lost.state.request).toMatchObject({ status: 'unconfirmed', retryAtMicroseconds: null });
    lost.act('extend-rest');
    expect(lost.state.request?.retryAtMicroseconds).toBe(now + 2 * second);
    lost.send({ input: 'time', atMicroseconds: now + 2 * second });
    expect(lost.state.request).toMatchObject({ status: 'requested', tries: 2 });
  });

  it('is followed by whoever reads the record, as it was', () => {
    for (const at of [2, zeroAtSeconds + 1]) {
      const drive = inRest(at);
      drive.act('extend-rest');
      const follower = createMachineFollower(schedule);
      for (const event of drive.events) follower.follow(event);
      expect(follower.machine.dwell).toEqual(drive.state.dwell);
      expect(follower.machine.restLengthenedMicroseconds).toBe(30 * second);
      drive.runUntil(() => drive.of('exercise-began').length === 2);
      for (const event of drive.events.slice(-3)) follower.follow(event);
      expect(follower.machine.restLengthenedMicroseconds).toBe(0);
    }
  });

  it('is nothing in a state that was recorded before there was such a thing', () => {
    const now = JSON.stringify(inRest(2).state);
    const old = now.replace(',"restLengthenedMicroseconds":0', '').replace('"lengthenedMicroseconds":0,', '');
    expect(old.length).toBeLessThan(now.length - 50);
    expect(old).not.toMatch(/engthened/);
    const read = trialMachineSchema.parse(JSON.parse(old));
    expect(read).toMatchObject({ restLengthenedMicroseconds: 0, dwell: { lengthenedMicroseconds: 0 } });
  });
});

describe('outside a rest', () => {
  const noRest = 'There is no rest now: a rest is lengthened before its exercise has begun.';
  const places: readonly (readonly [string, (drive: Drive) => void])[] = [
    ['in the background', (drive) => drive.runToStep(1)],
    ['in the entry', (drive) => drive.runToStep(march.restStep - 1)],
    ['in the lead-in', (drive) => drive.runUntil(() => drive.of('exercise-began').length === 1)],
    ['on a probe', (drive) => drive.runToStep(march.firstProbeStep + 1)],
    ['in the closing', (drive) => drive.runToStep(schedule.steps.length - 1)],
    ['when held in a rest', (drive) => [drive.runToStep(march.restStep), drive.act('hold')]],
    ['when stopped', (drive) => drive.act('stop')],
    ['when closed', (drive) => [drive.act('stop'), drive.act('close')]],
  ];

  it.each(places)('is refused in words, and nothing is changed: %s', (_, go) => {
    const drive = new Drive(schedule);
    drive.act('start', 0);
    go(drive);
    const before = JSON.stringify(drive.state);
    const events = drive.events.length;
    expect(refusalOf(drive.act('extend-rest'))).toBe(noRest);
    expect(JSON.stringify(drive.state)).toBe(before);
    expect(drive.events).toHaveLength(events);
    expect(possibleActions(drive.state, schedule)).not.toContain('extend-rest');
  });

  it('is possible in both halves of a rest, and in the rest of a fresh lead-in after a hold', () => {
    for (const at of [2, zeroAtSeconds + 1]) {
      expect(possibleActions(inRest(at).state, schedule)).toContain('extend-rest');
    }
    const drive = new Drive(schedule);
    drive.act('start', 0);
    drive.runToStep(march.firstProbeStep + 1);
    drive.act('hold');
    drive.act('go-on');
    expect(drive.state.dwell?.step).toBe(march.zeroStep);
    expect(refusalOf(drive.act('extend-rest'))).toBe('');
    const began = drive.state.dwell!.plannedAtMicroseconds;
    drive.runUntil(() => drive.of('exercise-began').length === 2);
    const zero = restSeconds - zeroAtSeconds;
    expect(drive.of('exercise-began').at(-1)?.atMicroseconds).toBe(began + (zero + 30) * second);
  });

  it('never lengthens the rest before another exercise than the one that was meant', () => {
    const drive = inRest(2);
    expect(refusalOf(drive.act('extend-rest', undefined, march.exercise))).toBe(
      `The rest now is not the one before ${march.exercise}.`,
    );
    expect(refusalOf(drive.act('extend-rest', undefined, bends.exercise))).toBe('');
  });

  it('comes too late for a rest that has ended by then', () => {
    const drive = inRest(2);
    const begins = drive.state.dwell!.plannedAtMicroseconds + restSeconds * second;
    drive.runUntil(() => (drive.wakeAt ?? Infinity) >= begins);
    expect(refusalOf(drive.act('extend-rest', begins + second / 10))).toBe(noRest);
    expect(drive.of('exercise-began').at(-1)?.exercise).toBe(bends.exercise);
  });
});
