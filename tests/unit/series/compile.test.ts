import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { isChambersideError } from '../../../src/model/error-code.ts';
import type { Rig } from '../../../src/model/rig.ts';
import type { Exercise, Series } from '../../../src/model/series.ts';
import { compileSchedule } from '../../../src/series/compile.ts';
import { leastDwellSeconds, predictUsableSeconds, usableSeconds } from '../../../src/series/usable.ts';

const { rig, series } = demo;

function withExercises(changes: Partial<Exercise>, order: Partial<Series['order']> = {}): Series {
  const exercises = series.exercises.map((exercise) => ({ ...exercise, ...changes }));
  return { ...series, exercises, order: { ...series.order, ...order } };
}

function refusal(attempt: () => unknown): { what: string; where: string; remedy: string } {
  try {
    attempt();
  } catch (error) {
    if (isChambersideError(error, 'schedule-impossible')) {
      return { what: error.message, where: error.where, remedy: error.remedy };
    }
    throw error;
  }
  throw new Error('it was not refused');
}

describe('the demo schedule', () => {
  const schedule = compileSchedule(series, rig);

  it('lasts 1450 s from the first rest to the end of the closing zero', () => {
    const firstRest = schedule.steps.find((step) => step.stage === 'rest');
    expect(schedule.durationMicroseconds - (firstRest?.offsetMicroseconds ?? 0)).toBe(1_450_000_000);
  });

  it('begins with zero, every probe in rig order, zero, and the entry', () => {
    expect(schedule.steps.slice(0, 8).map((step) => `${step.purpose} ${step.probe}`)).toEqual([
      'zero filtered-air',
      'background hood',
      'background chest',
      'background lower-back',
      'background thigh',
      'background ankle',
      'zero filtered-air',
      'reference chamber',
    ]);
    expect(schedule.steps[7]).toMatchObject({
      stage: 'entry',
      durationMicroseconds: series.entry.minimumSeconds * 1_000_000,
      longestMicroseconds: series.entry.maximumSeconds * 1_000_000,
      cues: [{ offsetMicroseconds: 0, cue: 'enter' }],
    });
  });

  it('gives every exercise 28 s reference, a zero of 22 s with its beginning after 2 s, five dwells of 18 s', () => {
    expect(schedule.exercises).toHaveLength(10);
    for (const exercise of schedule.exercises) {
      const own = schedule.steps.slice(exercise.restStep, exercise.lastProbeStep + 1);
      expect(own.map((step) => [step.purpose, step.durationMicroseconds / 1e6])).toEqual([
        ['reference', 28],
        ['zero', 22],
        ...Array.from({ length: 5 }, () => ['probe', 18]),
      ]);
      expect(
        own.flatMap((step) =>
          step.cues.map((cue) => [step.step - own[0]!.step, cue.cue, cue.offsetMicroseconds / 1e6]),
        ),
      ).toEqual([
        [0, 'rest', 0],
        [1, 'begin', 2],
        [6, 'end', 18],
      ]);
      expect(own.map((step) => step.dwellPosition)).toEqual([null, null, 1, 2, 3, 4, 5]);
    }
  });

  it('has every probe exactly twice in every position, and never the hood after the ankle', () => {
    expect(schedule.balance.counts.flat()).toEqual(new Array(25).fill(2));
    for (const [index, step] of schedule.steps.entries()) {
      if (step.probe === 'ankle' && step.stage === 'exercise')
        expect(schedule.steps[index + 1]?.probe).not.toBe('hood');
    }
  });

  it('closes with reference, zero and leave', () => {
    const [reference, zero] = schedule.steps.slice(-2);
    expect(reference).toMatchObject({ stage: 'closing', purpose: 'reference', durationMicroseconds: 28e6 });
    expect(zero).toMatchObject({ stage: 'closing', purpose: 'zero', durationMicroseconds: 22e6 });
    expect(zero?.cues).toMatchObject([{ cue: 'leave', offsetMicroseconds: 22e6 }]);
  });

  it('predicts what is left of a dwell', () => {
    const usable = predictUsableSeconds(schedule, rig, {
      settlingSeconds: 5,
      zeroSettlingSeconds: 12,
      guardDispersions: 3,
    });
    // 18 − 0.15 (valve) − 5 (settling) − 3 · 0.08 − 0.15 (guard); the zero: 22 − 0.15 − 12 − 0.24 − 0.15.
    expect(usable[schedule.exercises[0]!.firstProbeStep]).toBeCloseTo(12.46, 9);
    expect(usable[schedule.exercises[0]!.zeroStep!]).toBeCloseTo(9.46, 9);
    const ankle = rig.ports.find((port) => port.probe === 'ankle')!;
    expect(usableSeconds(18, { ...rig, bypass: false }, ankle, 5, 3)).toBeCloseTo(12.46 - 1.8, 9);
    expect(usableSeconds(3, rig, ankle, 5, 3)).toBeLessThan(0);
  });
});

describe('any schedule', () => {
  it('is gapless, adds up to the microsecond, and gives each probe its dwells', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 3, max: 90 }),
        fc.integer({ min: 0, max: 3 }),
        fc.integer({ min: 0, max: 30 }),
        fc.integer({ min: 1, max: 6 }),
        fc.integer({ min: 61_000, max: 400_000 }),
        fc.nat({ max: 12 }),
        (restSeconds, restZeroSeconds, leadIn, dwellsPerProbe, measuredMilliseconds, offset) => {
          const leadInSeconds = leadIn < 3 ? 3 : leadIn;
          const rest = Math.max(restSeconds, restZeroSeconds + 3);
          const changed = withExercises(
            {
              restSeconds: rest,
              restZeroSeconds,
              leadInSeconds,
              durationSeconds: leadInSeconds + measuredMilliseconds / 1000,
              dwellsPerProbe,
            },
            { offset },
          );
          const schedule = compileSchedule(changed, rig);
          let at = 0;
          for (const [index, step] of schedule.steps.entries()) {
            expect(step.step).toBe(index);
            expect(step.offsetMicroseconds).toBe(at);
            expect(Number.isInteger(step.durationMicroseconds)).toBe(true);
            for (const cue of step.cues) {
              expect(cue.offsetMicroseconds).toBeGreaterThanOrEqual(0);
              expect(cue.offsetMicroseconds).toBeLessThanOrEqual(step.durationMicroseconds);
            }
            at += step.durationMicroseconds;
          }
          expect(schedule.durationMicroseconds).toBe(at);
          for (const exercise of schedule.exercises) {
            const dwells = schedule.steps.slice(exercise.firstProbeStep, exercise.lastProbeStep + 1);
            const lengths = dwells.map((step) => step.durationMicroseconds);
            expect(lengths.reduce((sum, length) => sum + length, 0)).toBe(measuredMilliseconds * 1000);
            expect(Math.max(...lengths) - Math.min(...lengths)).toBeLessThanOrEqual(1);
            const counts = new Map<string, number>();
            for (const dwell of dwells) counts.set(dwell.probe, (counts.get(dwell.probe) ?? 0) + 1);
            expect([...counts.values()]).toEqual(new Array(5).fill(dwellsPerProbe));
            expect(dwells.map((step) => step.probe).join(' ')).not.toContain('ankle hood');
          }
        },
      ),
      { numRuns: 100, seed: 5 },
    );
  });

  it('leaves out a zero of no length and says begin with the first dwell', () => {
    const schedule = compileSchedule(withExercises({ restZeroSeconds: 0, leadInSeconds: 0 }), rig);
    const [exercise] = schedule.exercises;
    expect(exercise?.zeroStep).toBeNull();
    expect(schedule.steps[exercise!.firstProbeStep]?.cues[0]).toMatchObject({ cue: 'begin', offsetMicroseconds: 0 });
  });

  it('leaves out a reference of no length and says rest with the zero', () => {
    const schedule = compileSchedule(withExercises({ restSeconds: 5, restZeroSeconds: 5 }), rig);
    const exercise = schedule.exercises[0]!;
    expect(exercise.restStep).toBe(exercise.zeroStep);
    expect(schedule.steps[exercise.restStep]?.cues.map((cue) => [cue.cue, cue.offsetMicroseconds])).toEqual([
      ['rest', 0],
      ['begin', 5e6],
    ]);
  });

  it('is the same for the same series and rig', () => {
    expect(compileSchedule(series, rig)).toEqual(compileSchedule(series, rig));
  });
});

describe('an impossible schedule is refused with a remedy', () => {
  const least = (port: Rig['ports'][number]): number => leastDwellSeconds(rig, port);

  it('when dwells are too short for valve and transit', () => {
    const said = refusal(() => compileSchedule(withExercises({ dwellsPerProbe: 6, durationSeconds: 60 }), rig));
    expect(said.where).toBe('march');
    expect(said.remedy).toContain('1.65 s');
    expect(least(rig.ports[0]!)).toBeCloseTo(1.65, 9);
    expect(leastDwellSeconds({ ...rig, bypass: false }, rig.ports[0]!)).toBeCloseTo(2.85, 9);
  });

  it('when the background is too short', () => {
    const background = { zeroSeconds: 20, dwellSeconds: 1 };
    expect(refusal(() => compileSchedule({ ...series, background }, rig)).where).toBe('background');
  });

  it.each([
    ['the rest is shorter than its zero', { restSeconds: 1, restZeroSeconds: 2 }],
    ['the lead-in takes the exercise', { leadInSeconds: 110 }],
  ])('when %s', (_, changes) => {
    expect(refusal(() => compileSchedule(withExercises(changes), rig)).where).toBe('march');
  });

  it('when a forbidden pair names an unknown probe, the reference, or leaves no order', () => {
    const unknown = refusal(() => compileSchedule(withExercises({}, { forbidden: [['knee', 'hood']] }), rig));
    expect(unknown.what).toContain('knee');
    expect(unknown.remedy).toContain('lower-back');
    refusal(() => compileSchedule(withExercises({}, { forbidden: [['chamber', 'hood']] }), rig));
    const all = ['hood', 'chest', 'lower-back', 'thigh', 'ankle'];
    const forbidden = all.flatMap((before) => all.map((after): [string, string] => [before, after]));
    expect(refusal(() => compileSchedule(withExercises({}, { forbidden }), rig)).where).toBe('order.forbidden');
  });

  it('when the entry contradicts itself, or two exercises share a name', () => {
    refusal(() => compileSchedule({ ...series, entry: { ...series.entry, maximumSeconds: 10 } }, rig));
    refusal(() => compileSchedule({ ...series, entry: { ...series.entry, steadyWindowSeconds: 3000 } }, rig));
    expect(refusal(() => compileSchedule(withExercises({ exercise: 'twice' }), rig)).where).toBe('twice');
  });
});
