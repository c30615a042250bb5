import { describe, expect, it } from 'vitest';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import type { Workings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import type { ReadDwell } from '../../../src/leakage/dwell-reading.ts';
import { shippedMethods } from '../../../src/leakage/methods.ts';
import { methodSchema } from '../../../src/model/method.ts';
import { toSeconds } from '../../../src/model/time.ts';
import type { TrialRecord } from '../../../src/model/trial-record.ts';
import { syntheticTrial } from '../../support/synthetic-trial.ts';

/** Every window that a value rests on. */
function windowsOf({ cells, inputs }: Workings): ReadDwell[] {
  const probes = cells.flatMap(({ parts }) => parts.flatMap(({ held }) => (held === null ? [] : [held.dwell])));
  return [...probes, ...inputs.zeros.map(({ dwell }) => dwell), ...inputs.references.map(({ dwell }) => dwell)];
}

/** What a photometer of a true time constant leaves in a mean that was corrected with another one (first order). */
function trueCarryOver({ mean, step, window }: ReadDwell, truth: number, used: number): number {
  const settled = toSeconds(mean.fromMicroseconds - window.arrivalMicroseconds);
  const seconds = toSeconds(mean.toMicroseconds - mean.fromMicroseconds);
  const bracket = Math.exp(-settled / truth) - Math.exp(-(settled + seconds) / truth);
  return ((step ?? 0) * (truth - used) * bracket) / seconds;
}

const flagsOf = (record: TrialRecord, method = adaptiveMethod): string[] =>
  assess(record, method).cells.flatMap(({ flags }) => flags.filter((flag) => /settled/.test(flag)));

const slow = syntheticTrial({ noise: 4e-5, timeConstantSeconds: 2, exercises: 6 });

describe('adaptive settling', () => {
  it('takes the time constant from the falls of the trial, whatever the rig states', () => {
    const { rig } = slow.record;
    const misjudged = { ...rig, timeConstantSeconds: { value: 1.8, standardUncertainty: 0.2 } };
    const { timeConstant } = assess({ ...slow.record, rig: misjudged }, adaptiveMethod);
    expect(timeConstant?.source).toBe('falls');
    expect(timeConstant?.falls).toBeGreaterThanOrEqual(5);
    expect(timeConstant?.seconds.value).toBeCloseTo(2, 1);
    expect(timeConstant?.seconds.standardUncertainty).toBeGreaterThanOrEqual(0.01 * 1.97);
    expect(Math.abs((timeConstant?.seconds.value ?? 0) - 2)).toBeLessThan(0.02);
  });

  it('takes that of the rig where there are too few falls, or the lines hold stale air, and says why', () => {
    const few = assess(syntheticTrial({ exercises: 2 }).record, adaptiveMethod).timeConstant;
    expect(few).toMatchObject({ source: 'rig', falls: 0, seconds: { value: 1, standardUncertainty: 0.03 } });
    expect(few?.reason).toMatch(/falls can be fitted, and 5 are needed/);
    const stale = assess(syntheticTrial({ exercises: 6, bypass: false }).record, adaptiveMethod).timeConstant;
    expect(stale?.reason).toMatch(/stale air/);
  });

  it('settles a trial at 2 s that fixed seconds leave unsettled, and comes closer to the truth', () => {
    const before = assess(slow.record, firstMethod);
    expect(before.cells.filter(({ flags }) => flags.includes('zero-not-settled')).length).toBeGreaterThan(25);
    const after = assess(slow.record, adaptiveMethod);
    expect(after.cells.filter(({ flagged }) => flagged)).toEqual([]);
    for (const { probe, parts, windowPercent, windowExpandedPercent } of after.cells) {
      const reading = parts[0]?.reading;
      const truth = slow.truthPercent(probe, reading?.probeFromMicroseconds ?? 0, reading?.probeToMicroseconds ?? 0);
      expect(Math.abs((windowPercent ?? Number.NaN) - truth)).toBeLessThan(2 * (windowExpandedPercent ?? 0));
    }
  });

  it('waits at the least what the method says, and longer after a greater step', () => {
    const leakages = [3e-4, 0.05, 3.6e-3, 8.3e-3, 0.016];
    const steep = syntheticTrial({ noise: 4e-5, timeConstantSeconds: 2, leakages });
    const { cells, inputs } = assessWithWorkings(steep.record, adaptiveMethod);
    const probes = cells.flatMap(({ parts }) => parts.flatMap(({ held }) => (held === null ? [] : [held.dwell])));
    const least = adaptiveMethod.settling.seconds;
    for (const { settlingSeconds } of probes) expect(settlingSeconds).toBeGreaterThanOrEqual(least);
    const greatest = probes.reduce((one, other) => ((one.step ?? 0) > (other.step ?? 0) ? one : other));
    expect(greatest.settlingSeconds).toBeGreaterThan(least);
    // Filtered air after the chamber waits for most of its dwell; after filtered air it need not.
    const after = inputs.zeros.filter(({ dwell }) => (dwell.step ?? 0) > 1);
    expect(after.length).toBeGreaterThan(2);
    for (const { dwell } of after) expect(dwell.settlingSeconds).toBeGreaterThan(12);
    const [first] = inputs.zeros;
    expect(first?.dwell.settlingSeconds).toBe(adaptiveMethod.zeroSettlingSeconds);
  });

  it.each([0.3, 1, 2, 3])('keeps the true carry-over below its bound, at %f s stated up to 2 % wrong', (truth) => {
    for (const wrong of [-0.02, 0.02]) {
      const { record } = syntheticTrial({ noise: 4e-5, timeConstantSeconds: truth, exercises: 3, seed: 5 });
      const used = truth * (1 + wrong);
      const rig = { ...record.rig, timeConstantSeconds: { value: used, standardUncertainty: 0.01 * used } };
      const workings = assessWithWorkings({ ...record, rig }, adaptiveMethod);
      expect(workings.assessment.timeConstant?.source).toBe('rig');
      for (const dwell of windowsOf(workings)) {
        expect(Math.abs(trueCarryOver(dwell, truth, used))).toBeLessThanOrEqual(Math.abs(dwell.carryOver) + 1e-12);
      }
    }
  });

  it('keeps the value of a dwell that is too short, with what it carries over, and flags it', () => {
    const short = syntheticTrial({ noise: 4e-5, timeConstantSeconds: 3, exercises: 6, dwellSeconds: 6 });
    const { cells } = assess(short.record, adaptiveMethod);
    const unsettled = cells.filter(({ flags }) => flags.includes('unsettled'));
    expect(unsettled.length).toBeGreaterThan(0);
    for (const { parts, windowPercent } of unsettled) {
      expect(windowPercent).not.toBeNull();
      expect(Math.abs(parts[0]?.reading?.carryOverReading ?? 0)).toBeGreaterThan(0);
    }
  });

  it('does not take a slow tail for settled', () => {
    const tail = syntheticTrial({ noise: 4e-5, tailShare: 1e-3, exercises: 6 });
    expect(flagsOf(tail.record).filter((flag) => flag === 'zero-not-settled').length).toBe(30);
  });

  it('asks for less where the method allows more', () => {
    const generous = { ...adaptiveMethod, carryOverPercent: 10 };
    const mean = (method: typeof adaptiveMethod): number => {
      const all = windowsOf(assessWithWorkings(slow.record, method)).map(({ settlingSeconds }) => settlingSeconds);
      return all.reduce((sum, seconds) => sum + seconds, 0) / all.length;
    };
    expect(mean(generous)).toBeLessThan(mean(adaptiveMethod));
  }, 60_000);

  it('is repeated to the last bit, and leaves fixed methods as they were', () => {
    const once = JSON.stringify(assess(slow.record, adaptiveMethod));
    expect(JSON.stringify(assess(slow.record, adaptiveMethod))).toBe(once);
    const { assessment, context } = assessWithWorkings(slow.record, firstMethod);
    expect(assessment).not.toHaveProperty('timeConstant');
    expect(context).not.toHaveProperty('settlingSeconds');
    expect(context.rig).toBe(slow.record.rig);
  });
});

it('ships each method under one name, as its schema wants it', () => {
  expect(new Set(shippedMethods.map(({ name }) => name)).size).toBe(shippedMethods.length);
  for (const method of shippedMethods) expect(methodSchema.parse(method)).toEqual(method);
});
