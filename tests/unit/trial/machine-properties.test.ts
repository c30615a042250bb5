import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { trialEventSchema } from '../../../src/model/trial-event.ts';
import type { TrialEvent } from '../../../src/model/trial-event.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import type { Schedule } from '../../../src/series/schedule.ts';
import { prepareMachine, trialMachineSchema } from '../../../src/trial/machine-state.ts';
import type { TrialMachine } from '../../../src/trial/machine-state.ts';
import { next } from '../../../src/trial/machine.ts';
import type { TrialInput } from '../../../src/trial/machine-seam.ts';
import { restoreMachine } from '../../../src/trial/restore.ts';
import { Drive } from './drive.ts';

const { rig, series } = demo;
const bare = series.exercises.map((exercise) => ({
  ...exercise,
  restZeroSeconds: 0,
  leadInSeconds: 0,
  dwellsPerProbe: 2,
}));
const schedules: Schedule[] = [
  compileSchedule({ ...series, exercises: series.exercises.slice(0, 3) }, rig),
  compileSchedule({ ...series, exercises: bare.slice(0, 2) }, rig),
  compileSchedule(
    { ...series, exercises: series.exercises.slice(0, 2).map((exercise) => ({ ...exercise, restSeconds: 2 })) },
    rig,
  ),
];

/** What may happen: mostly the machine's own wakes, with everything else thrown in at any moment. */
type Happening =
  | {
      readonly kind: 'wake';
      readonly late: number;
      readonly answer: 'acknowledged' | 'unconfirmed' | 'none';
      readonly steady: boolean;
    }
  | {
      readonly kind: 'action';
      readonly action: Extract<TrialInput, { input: 'action' }>['action'];
      readonly exercise: string | null;
    }
  | { readonly kind: 'interrupted'; readonly lostFor: number }
  | { readonly kind: 'jump'; readonly by: number }
  | { readonly kind: 'stray'; readonly request: number };

const wake: fc.Arbitrary<Happening> = fc.record({
  kind: fc.constant('wake' as const),
  late: fc.oneof(
    { weight: 6, arbitrary: fc.nat({ max: 30_000 }) },
    { weight: 1, arbitrary: fc.nat({ max: 3_000_000 }) },
  ),
  answer: fc.constantFrom('acknowledged' as const, 'acknowledged' as const, 'unconfirmed' as const, 'none' as const),
  steady: fc.boolean(),
});
const happening: fc.Arbitrary<Happening> = fc.oneof(
  { weight: 30, arbitrary: wake },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('action' as const),
      action: fc.constantFrom(
        'start',
        'hold',
        'go-on',
        'go-on',
        'repeat',
        'skip',
        'mark',
        'start',
      ) as fc.Arbitrary<'start'>,
      exercise: fc.constantFrom(null, null, 'march', 'knee-bends', 'nothing'),
    }),
  },
  {
    weight: 2,
    arbitrary: fc.constant({ kind: 'action' as const, action: 'extend-rest' as const, exercise: null }),
  },
  {
    weight: 1,
    arbitrary: fc.record({
      kind: fc.constant('action' as const),
      action: fc.constantFrom('stop' as const, 'close' as const),
      exercise: fc.constant(null),
    }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('interrupted' as const), lostFor: fc.nat({ max: 60_000_000 }) }),
  },
  {
    weight: 1,
    arbitrary: fc.record({ kind: fc.constant('jump' as const), by: fc.integer({ min: -5_000_000, max: 40_000_000 }) }),
  },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant('stray' as const), request: fc.nat({ max: 40 }) }) },
);

/** A trial that has been started, and in two of three cases has come to a rest: few searches would get there. */
function begun(schedule: Schedule, turn: number): Drive {
  const drive = new Drive(schedule);
  drive.act('start', 10);
  const exercise = turn % 3 === 0 ? undefined : schedule.exercises[(turn % 3) - 1];
  if (exercise !== undefined) drive.runToStep(exercise.restStep);
  return drive;
}

/** Inputs that a happening stands for, given where the machine is. */
function inputsOf(happening: Happening, drive: Drive): TrialInput[] {
  const now = drive.state.nowMicroseconds;
  switch (happening.kind) {
    case 'action':
      return [
        {
          input: 'action',
          action: happening.action,
          atMicroseconds: now,
          person: 'p',
          note: '',
          exercise: happening.exercise,
        },
      ];
    case 'interrupted':
      return [
        { input: 'interrupted', lostAtMicroseconds: now, atMicroseconds: now + happening.lostFor, reason: 'lost' },
      ];
    case 'jump':
      return [{ input: 'time', atMicroseconds: now + happening.by }];
    case 'stray':
      return [{ input: 'port-acknowledged', atMicroseconds: now, request: happening.request }];
    case 'wake': {
      const inputs: TrialInput[] = [];
      const request = drive.state.request?.request ?? -1;
      if (happening.answer === 'acknowledged')
        inputs.push({ input: 'port-acknowledged', atMicroseconds: now + 1000, request });
      if (happening.answer === 'unconfirmed') {
        inputs.push({ input: 'port-unconfirmed', atMicroseconds: now + 1000, request, detail: 'refused' });
      }
      const at = (drive.wakeAt ?? now) + happening.late;
      inputs.push({ input: 'time', atMicroseconds: at });
      inputs.push({
        input: 'challenge-judged',
        atMicroseconds: at,
        steady: happening.steady,
        rangePercent: 1,
        meanReading: 12,
      });
      return inputs;
    }
  }
}

/** Every promise that the events of any trial keep. */
function checkEvents(events: readonly TrialEvent[]): void {
  let open: number | null = null;
  let dwells = 0;
  let moving: string | null = null;
  let last = 0;
  const acknowledged = new Set<number>();
  for (const event of events) {
    expect(event.atMicroseconds).toBeGreaterThanOrEqual(last);
    last = event.atMicroseconds;
    switch (event.kind) {
      case 'dwell-began':
        expect(open).toBeNull();
        expect(event.dwell.dwell).toBe(dwells);
        expect(event.dwell.attempt > 0).toBe(event.dwell.stage === 'exercise');
        open = event.dwell.dwell;
        dwells += 1;
        break;
      case 'dwell-ended':
        expect(event.dwell).toBe(open);
        open = null;
        break;
      case 'port-requested':
      case 'port-unconfirmed':
        expect(event.dwell).toBe(open ?? -1);
        break;
      case 'port-acknowledged':
        expect(event.dwell).toBe(open ?? -1);
        if (open !== null) expect(acknowledged.has(open)).toBe(false);
        if (open !== null) acknowledged.add(open);
        break;
      case 'exercise-began':
        expect(moving).toBeNull();
        moving = `${event.exercise} ${event.attempt}`;
        break;
      case 'exercise-ended':
        expect(`${event.exercise} ${event.attempt}`).toBe(moving);
        moving = null;
        break;
      case 'phase-changed':
        if (event.to !== 'running') expect([open, moving]).toEqual([null, null]);
        break;
      default:
    }
  }
}

const scenario = fc.tuple(fc.nat({ max: schedules.length - 1 }), fc.array(happening, { minLength: 1, maxLength: 120 }));
const runs = { numRuns: 250, seed: 42 };

describe('whatever happens', () => {
  it('keeps every dwell and exercise bracketed, time going forward, and the record readable', () => {
    const reached = new Set<string>();
    fc.assert(
      fc.property(scenario, ([which, happenings]) => {
        const drive = begun(schedules[which]!, happenings.length);
        for (const each of happenings) for (const input of inputsOf(each, drive)) drive.send(input);
        checkEvents(drive.events);
        for (const event of drive.events) {
          expect(trialEventSchema.safeParse(event).success).toBe(true);
          reached.add(event.kind === 'phase-changed' ? `${event.to}` : event.kind);
        }
        expect(trialMachineSchema.parse(drive.state)).toEqual(drive.state);
      }),
      runs,
    );
    // The search would prove little if it never came to these.
    const ends = ['held', 'stopped', 'closed', 'exercise-ended'];
    for (const kind of [...ends, 'challenge-judged', 'port-unconfirmed', 'rest-lengthened']) {
      expect(reached).toContain(kind);
    }
  });

  it('can be stopped from wherever it is, and then only closed', () => {
    fc.assert(
      fc.property(scenario, ([which, happenings]) => {
        const drive = begun(schedules[which]!, happenings.length);
        for (const each of happenings) for (const input of inputsOf(each, drive)) drive.send(input);
        if (drive.state.phase === 'closed') return;
        drive.act('stop');
        expect(drive.state.phase).toBe('stopped');
        drive.act('close');
        expect(drive.state.phase).toBe('closed');
        checkEvents(drive.events);
      }),
      runs,
    );
  });

  it('goes on the same after its state has been through JSON, and leaves the old state as it was', () => {
    fc.assert(
      fc.property(scenario, ([which, happenings]) => {
        const schedule = schedules[which]!;
        const drive = begun(schedule, happenings.length);
        for (const each of happenings) {
          for (const input of inputsOf(each, drive)) {
            const before = JSON.stringify(drive.state);
            const read = trialMachineSchema.parse(JSON.parse(before));
            const direct = next(drive.state, input, schedule);
            expect(JSON.stringify(next(read, input, schedule))).toBe(JSON.stringify(direct));
            expect(JSON.stringify(drive.state)).toBe(before);
            drive.send(input);
          }
        }
      }),
      { ...runs, numRuns: 100 },
    );
  });

  it('keeps its promises across a loss of the host after any number of recorded events', () => {
    fc.assert(
      fc.property(scenario, fc.nat(), ([which, happenings], cut) => {
        const schedule = schedules[which]!;
        const drive = begun(schedule, happenings.length);
        for (const each of happenings) for (const input of inputsOf(each, drive)) drive.send(input);
        const kept = drive.events.slice(0, 1 + (cut % drive.events.length));
        const restored: TrialMachine = restoreMachine(kept, schedule) ?? prepareMachine(schedule);
        const after = new Drive(schedule, trialMachineSchema.parse(JSON.parse(JSON.stringify(restored))));
        const lost = kept.at(-1)!.atMicroseconds;
        after.send({ input: 'interrupted', lostAtMicroseconds: lost, atMicroseconds: lost + 1e7, reason: 'restart' });
        expect(after.state.phase).not.toBe('running');
        after.act('go-on');
        after.runUntil(() => after.state.phase !== 'running');
        checkEvents([...kept, ...after.events]);
      }),
      runs,
    );
  });

  it('never asks to be woken in the past for ever', () => {
    fc.assert(
      fc.property(scenario, ([which, happenings]) => {
        const drive = begun(schedules[which]!, happenings.length);
        for (const each of happenings) for (const input of inputsOf(each, drive)) drive.send(input);
        for (
          let turn = 0;
          turn < 10 && drive.wakeAt !== null && drive.wakeAt <= drive.state.nowMicroseconds;
          turn += 1
        ) {
          drive.send({ input: 'time', atMicroseconds: drive.state.nowMicroseconds });
          expect(turn).toBeLessThan(3);
        }
      }),
      runs,
    );
  });
});

describe('over ten hours', () => {
  it('does not drift, however late every single call comes', () => {
    const long = series.exercises[0]!;
    const exercises = Array.from({ length: 260 }, (_, index) => ({ ...long, exercise: `march-${index}` }));
    const schedule = compileSchedule({ ...series, exercises }, rig);
    expect(schedule.durationMicroseconds).toBeGreaterThan(10 * 3600 * 1e6);
    const drive = new Drive(schedule);
    drive.act('start', 0);
    let turn = 0;
    drive.runUntil(
      () => drive.state.phase === 'closed',
      () => {
        turn += 1;
        return (turn * 7919) % 40_000;
      },
    );
    expect(drive.state.phase).toBe('closed');
    // The entry ends when the challenge is judged steady: the plan begins anew there, once.
    const dwells = drive.of('dwell-began').slice(8);
    const origin = dwells[0]!.plannedAtMicroseconds - schedule.steps[8]!.offsetMicroseconds;
    for (const event of dwells) {
      expect(event.plannedAtMicroseconds).toBe(origin + schedule.steps[event.dwell.step]!.offsetMicroseconds);
      expect(event.atMicroseconds - event.plannedAtMicroseconds).toBeGreaterThanOrEqual(0);
      expect(event.atMicroseconds - event.plannedAtMicroseconds).toBeLessThan(40_000);
    }
  });
});
