import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { trialEventSchema } from '../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { trialMachineSchema } from '../../../src/trial/machine-state.ts';
import { Drive } from './drive.ts';

const schedule = compileSchedule(demo.series, demo.rig);
const entryStep = 7;
const march = schedule.exercises[0]!;
const bends = schedule.exercises[1]!;
const lastExercise = schedule.exercises[9]!;
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

describe('a trial that nobody disturbs', () => {
  const drive = started();
  drive.runUntil(() => drive.state.phase === 'closed');

  it('performs every step once, on the plan, and closes', () => {
    expect(drive.state.phase).toBe('closed');
    expect(drive.wakeAt).toBeNull();
    const dwells = drive.of('dwell-began');
    expect(dwells.map((event) => event.dwell.step)).toEqual(schedule.steps.map((step) => step.step));
    expect(dwells.map((event) => event.dwell.dwell)).toEqual(schedule.steps.map((_, index) => index));
    for (const event of dwells) {
      const step = schedule.steps[event.dwell.step]!;
      expect(event.plannedAtMicroseconds).toBe(5 * second + step.offsetMicroseconds);
      expect(event.atMicroseconds).toBe(event.plannedAtMicroseconds);
    }
    expect(drive.of('port-acknowledged')).toHaveLength(schedule.steps.length);
    expect(drive.of('dwell-ended').every((event) => event.complete)).toBe(true);
    expect(drive.effects.filter((effect) => effect.effect === 'finished')).toHaveLength(1);
  });

  it('records events that satisfy the schema, with a machine that can be read back', () => {
    for (const event of drive.events) {
      expect(trialEventSchema.safeParse(event).success).toBe(true);
      if (event.kind === 'dwell-began' || event.kind === 'phase-changed') trialMachineSchema.parse(event.machine);
    }
  });

  it('says the cues in order, and brackets every exercise', () => {
    expect(drive.of('cue').map((event) => event.cue)).toEqual([
      'enter',
      ...demo.series.exercises.flatMap(() => ['rest', 'begin', 'end']),
      'rest',
      'leave',
    ]);
    const began = drive.of('exercise-began');
    const ended = drive.of('exercise-ended');
    expect(began.map((event) => [event.exercise, event.attempt])).toEqual(
      demo.series.exercises.map((e) => [e.exercise, 1]),
    );
    for (const [index, event] of ended.entries()) {
      expect(event.complete).toBe(true);
      expect(event.atMicroseconds - began[index]!.atMicroseconds).toBe(110 * second);
    }
  });

  it('marks the attempt in exercises only', () => {
    for (const { dwell } of drive.of('dwell-began')) expect(dwell.attempt).toBe(dwell.stage === 'exercise' ? 1 : 0);
  });
});

describe('hold and go on', () => {
  it('breaks the dwell, tells the subject, parks the valve and waits without a timer', () => {
    const drive = inSecondDwell();
    const seen = drive.events.length;
    const at = drive.state.nowMicroseconds;
    const effects = drive.act('hold');
    expect(drive.events.slice(seen).map((event) => event.kind)).toEqual([
      'operator-action',
      'dwell-ended',
      'exercise-ended',
      'phase-changed',
      'cue',
      'port-requested',
    ]);
    expect(drive.of('dwell-ended').at(-1)).toMatchObject({ complete: false, atMicroseconds: at });
    expect(effects).toContainEqual(expect.objectContaining({ effect: 'request-port', dwell: -1, port: filteredAir }));
    expect(drive.of('cue').at(-1)).toMatchObject({ cue: 'rest', exercise: 'march' });
    expect(drive.wakeAt).toBeNull();
  });

  it('goes on with the whole lead-in, the broken dwell and the remaining ones, in the same attempt', () => {
    const drive = inSecondDwell();
    drive.act('hold');
    const seen = drive.events.length;
    const again = drive.state.nowMicroseconds + 90 * second;
    drive.act('go-on', again);
    drive.runToStep(bends.restStep);
    const later = drive.events.slice(seen);
    const dwells = later.flatMap((event) => (event.kind === 'dwell-began' ? [event] : []));
    expect(dwells.map((event) => event.dwell.step)).toEqual([
      march.zeroStep,
      march.firstProbeStep + 1,
      march.firstProbeStep + 2,
      march.firstProbeStep + 3,
      march.firstProbeStep + 4,
      bends.restStep,
    ]);
    expect(dwells.map((event) => (event.plannedAtMicroseconds - again) / second)).toEqual([0, 22, 40, 58, 76, 94]);
    expect(dwells.slice(0, 5).every((event) => event.dwell.attempt === 1)).toBe(true);
    expect(later.filter((event) => event.kind === 'exercise-began')).toMatchObject([
      { exercise: 'march', attempt: 1, atMicroseconds: again + 2 * second },
    ]);
    expect(later.filter((event) => event.kind === 'exercise-ended')).toMatchObject([{ attempt: 1, complete: true }]);
    expect(drive.of('dwell-ended').filter((event) => !event.complete)).toHaveLength(1);
  });

  it('begins the lead-in again when it is held in a fresh lead-in, and still finds the broken dwell', () => {
    const drive = inSecondDwell();
    drive.act('hold');
    drive.act('go-on');
    drive.send({ input: 'time', atMicroseconds: drive.state.nowMicroseconds + 10 * second });
    drive.act('hold');
    drive.act('go-on');
    const seen = drive.events.length;
    drive.runUntil(() => drive.state.dwell?.step === march.firstProbeStep + 2);
    const steps = drive.events.slice(seen).flatMap((event) => (event.kind === 'dwell-began' ? [event.dwell.step] : []));
    expect(steps).toEqual([march.firstProbeStep + 1, march.firstProbeStep + 2]);
    expect(drive.state.attempts[0]).toBe(1);
  });

  it.each([
    ['background', 2],
    ['entry', entryStep],
    ['rest', march.restStep],
    ['closing', schedule.steps.length - 2],
  ])('begins the broken step again in the %s', (_, step) => {
    const drive = started();
    drive.runToStep(step);
    drive.send({ input: 'time', atMicroseconds: drive.state.nowMicroseconds + second });
    drive.act('hold');
    drive.act('go-on', drive.state.nowMicroseconds + 7 * second);
    expect(drive.state.dwell).toMatchObject({ step, plannedAtMicroseconds: drive.state.nowMicroseconds });
  });

  it('says begin itself where there is no lead-in to do again', () => {
    const exercises = demo.series.exercises.map((exercise) => ({ ...exercise, restZeroSeconds: 0, leadInSeconds: 0 }));
    const bare = compileSchedule({ ...demo.series, exercises }, demo.rig);
    const drive = new Drive(bare);
    drive.act('start');
    drive.runToStep(bare.exercises[0]!.firstProbeStep + 1);
    drive.act('hold');
    const seen = drive.events.length;
    drive.act('go-on');
    expect(drive.state.dwell?.step).toBe(bare.exercises[0]!.firstProbeStep + 1);
    const kinds = drive.events.slice(seen).map((event) => (event.kind === 'cue' ? event.cue : event.kind));
    expect(kinds).toEqual([
      'operator-action',
      'phase-changed',
      'dwell-began',
      'port-requested',
      'begin',
      'exercise-began',
    ]);
    expect(drive.state.attempts[0]).toBe(1);
  });
});

describe('repeat and skip', () => {
  it('repeats an exercise from its rest as a new attempt', () => {
    const drive = inSecondDwell();
    drive.act('repeat');
    expect(drive.of('exercise-ended').at(-1)).toMatchObject({ exercise: 'march', attempt: 1, complete: false });
    expect(drive.state.dwell?.step).toBe(march.restStep);
    drive.runToStep(bends.restStep);
    expect(drive.of('exercise-ended').at(-1)).toMatchObject({ exercise: 'march', attempt: 2, complete: true });
    expect(drive.of('dwell-began').filter((event) => event.dwell.attempt === 2)).toHaveLength(6);
  });

  it('repeats the exercise just done from the rest after it, and the last one from the closing', () => {
    const drive = started();
    drive.runToStep(bends.restStep);
    drive.act('repeat', drive.state.nowMicroseconds, 'march');
    expect(drive.state.dwell?.step).toBe(march.restStep);
    drive.runToStep(lastExercise.lastProbeStep + 1);
    drive.act('repeat', drive.state.nowMicroseconds, lastExercise.exercise);
    expect(drive.state.dwell?.step).toBe(lastExercise.restStep);
    drive.runUntil(() => drive.state.phase === 'closed');
    expect(drive.state.attempts).toEqual([2, 1, 1, 1, 1, 1, 1, 1, 1, 2]);
  });

  it('skips to the rest of the next exercise, and from the last to the closing', () => {
    const drive = inSecondDwell();
    drive.act('skip');
    expect(drive.of('exercise-ended').at(-1)).toMatchObject({ exercise: 'march', complete: false });
    expect(drive.state.dwell?.step).toBe(bends.restStep);
    drive.runToStep(lastExercise.restStep);
    drive.act('skip');
    expect(schedule.steps[drive.state.dwell!.step]).toMatchObject({ stage: 'closing', purpose: 'reference' });
  });

  it('refuses what would do harm when a key comes late, and changes nothing', () => {
    const drive = started();
    drive.runToStep(bends.restStep);
    const before = structuredClone(drive.state);
    for (const [action, exercise] of [
      ['skip', 'march'],
      ['repeat', 'crawl'],
      ['repeat', 'nothing'],
    ] as const) {
      const seen = drive.events.length;
      expect(drive.act(action, undefined, exercise)[0]).toMatchObject({ effect: 'refused', action });
      expect(drive.events).toHaveLength(seen);
    }
    expect(drive.state).toEqual(before);
    const early = started();
    expect(early.act('skip')[0]).toMatchObject({ effect: 'refused' });
  });
});

describe('stop and close', () => {
  it('stops at once from everywhere, with the valve to filtered air, and then only closes', () => {
    for (const prepare of [
      () => new Drive(schedule),
      started,
      inSecondDwell,
      () => {
        const held = inSecondDwell();
        held.act('hold');
        return held;
      },
    ]) {
      const drive = prepare();
      const effects = drive.act('stop');
      expect(drive.state.phase).toBe('stopped');
      expect(effects).toContainEqual(expect.objectContaining({ effect: 'cue', cue: 'stop' }));
      expect(effects).toContainEqual(expect.objectContaining({ effect: 'request-port', port: filteredAir }));
      for (const action of ['start', 'hold', 'go-on', 'repeat', 'skip', 'stop'] as const) {
        expect(drive.act(action)[0]).toMatchObject({ effect: 'refused', action });
      }
      drive.act('close');
      expect(drive.state.phase).toBe('closed');
      expect(drive.act('stop')[0]).toMatchObject({ effect: 'refused' });
    }
  });

  it('is stopped by the subject’s contact as by the operator, and the record says by what', () => {
    const byHand = inSecondDwell();
    const byContact = inSecondDwell();
    const source = { source: 'contact', instrument: 'contacts', stream: 'stop' } as const;
    const asked = { input: 'action', action: 'stop', person: 'subject', exercise: null } as const;
    const atMicroseconds = byHand.state.nowMicroseconds + second;
    byHand.act('stop', atMicroseconds);
    byContact.send({ ...asked, atMicroseconds, note: 'The subject pressed stop: hand stop.', source });
    expect(byContact.state).toEqual(byHand.state);
    const [action] = byContact.of('operator-action').slice(-1);
    expect(action).toMatchObject({ action: 'stop', person: 'subject', source });
    expect(trialEventSchema.parse(action)).toEqual(action);
    expect(byContact.of('phase-changed').at(-1)).toMatchObject({
      to: 'stopped',
      reason: 'The subject pressed stop: hand stop.',
    });
    expect(byHand.of('operator-action').at(-1)).not.toHaveProperty('source');
    for (const again of ['start', 'go-on', 'repeat', 'skip'] as const) {
      expect(byContact.act(again)[0]).toMatchObject({ effect: 'refused' });
    }
  });

  it('does not first begin what was due when the stop comes', () => {
    const drive = inSecondDwell();
    const dwells = drive.of('dwell-began').length;
    drive.act('stop', drive.state.nowMicroseconds + 14 * second);
    expect(drive.of('dwell-began')).toHaveLength(dwells);
  });

  it('does not close a running trial', () => {
    expect(started().act('close')[0]).toMatchObject({ effect: 'refused', action: 'close' });
  });
});
