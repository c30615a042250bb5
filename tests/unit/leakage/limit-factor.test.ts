import { describe, expect, it } from 'vitest';
import type { BlankScatter } from '../../../src/calibration/blank-scatter.ts';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { limitFactor } from '../../../src/leakage/limit-factor.ts';
import { healthy, record } from '../../support/spoiled-trial.ts';

const blank: BlankScatter = {
  standardDeviation: 1,
  autocorrelationSum: 1,
  degreesOfFreedom: 6,
  readings: 7,
  blanks: 1,
};

describe('how many standard uncertainties the detection limit is', () => {
  it('as the method says where nothing else is said', () => {
    expect(limitFactor({ ...firstMethod, detectionFactor: 4 }, blank)).toBe(4);
  });

  it('3 and 10, whatever noise is held against (factors of IUPAC, from memory)', () => {
    expect(limitFactor({ ...firstMethod, detectionFactor: 4, detectionLimit: 'three-s' }, blank)).toBe(3);
    expect(limitFactor({ ...firstMethod, detectionLimit: 'ten-s' }, blank)).toBe(10);
  });

  it.each([
    [7, 1, 3.143],
    [8, 1, 2.998],
    [21, 1, 2.528],
    // What repeats itself is worth less: 41 readings with a sum of correlations of 2 are worth 20 degrees of freedom.
    [41, 2, 2.528],
  ])('t(0.99) for %i readings at %f (seen: table of 40 CFR 136 App. B, NR 252.0365)', (readings, sum, factor) => {
    const scatter = { ...blank, readings, degreesOfFreedom: readings - 1, autocorrelationSum: sum };
    expect(Math.abs(limitFactor({ ...firstMethod, detectionLimit: 't-s' }, scatter) - factor)).toBeLessThan(5e-4);
  });
});

it('moves the limit of every cell, what is flagged for it, and nothing else', () => {
  const before = healthy.cells;
  const after = assess(record, { ...firstMethod, detectionLimit: 'ten-s' }).cells;
  for (const [index, cell] of after.entries()) {
    const was = before[index];
    if (was?.windowPercent == null || was.detectionLimitPercent === null) throw new Error('a healthy cell has a limit');
    expect(cell.detectionLimitPercent).toBeCloseTo((was.detectionLimitPercent * 10) / 3, 12);
    expect(cell.windowPercent).toBe(was.windowPercent);
    expect(cell.flags.includes('below-detection-limit')).toBe(was.windowPercent < (was.detectionLimitPercent * 10) / 3);
    expect(cell.flagged).toBe(was.flagged);
  }
});
