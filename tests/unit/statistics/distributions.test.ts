import { describe, expect, it } from 'vitest';
import {
  betaQuantile,
  chiSquareQuantile,
  effectiveDegreesOfFreedom,
  fProbability,
  fQuantile,
  noncentralStudentProbability,
  noncentralStudentQuantile,
  normalProbability,
  normalQuantile,
  studentProbability,
  studentQuantile,
} from '../../../src/statistics/distributions.ts';
import { rootBetween } from '../../../src/statistics/root.ts';

describe('quantiles', () => {
  it('are turned back by the distribution function', () => {
    for (const probability of [0.001, 0.2, 0.5, 0.9, 0.999]) {
      expect(normalProbability(normalQuantile(probability))).toBeCloseTo(probability, 12);
      expect(studentProbability(studentQuantile(probability, 4.2), 4.2)).toBeCloseTo(probability, 12);
      expect(fProbability(fQuantile(probability, 3, 11), 3, 11)).toBeCloseTo(probability, 10);
      expect(noncentralStudentProbability(noncentralStudentQuantile(probability, 7, 3.3), 7, 3.3)).toBeCloseTo(
        probability,
        12,
      );
    }
  });

  it('of t with endless degrees of freedom are normal', () => {
    expect(studentQuantile(0.975, Infinity)).toBe(normalQuantile(0.975));
    expect(studentProbability(1.3, Infinity)).toBe(normalProbability(1.3));
  });

  it('of a noncentral t without noncentrality are those of t', () => {
    expect(noncentralStudentQuantile(0.9, 6, 0)).toBe(studentQuantile(0.9, 6));
  });

  it.each([
    ['a probability of one', () => normalQuantile(1)],
    ['a probability that is no number', () => studentQuantile(Number.NaN, 3)],
    ['no degrees of freedom', () => studentQuantile(0.5, 0)],
    ['no degrees of freedom above the line', () => fQuantile(0.5, 0, 3)],
    ['degrees of freedom that are no number', () => chiSquareQuantile(0.5, Number.NaN)],
    ['a shape below zero', () => betaQuantile(0.5, -1, 3)],
    ['a noncentrality beyond what double precision holds', () => noncentralStudentQuantile(0.5, 3, 40)],
    ['a value that is no number', () => noncentralStudentProbability(Number.NaN, 3, 1)],
  ])('refuse %s', (_, call) => {
    expect(call).toThrow(RangeError);
  });
});

describe('effectiveDegreesOfFreedom', () => {
  it('are those of the only part', () => {
    expect(effectiveDegreesOfFreedom([{ standardUncertainty: 3e-200, degreesOfFreedom: 7 }])).toBeCloseTo(7, 12);
  });

  it('are the sum for equal parts', () => {
    const part = { standardUncertainty: 2, degreesOfFreedom: 5 };
    expect(effectiveDegreesOfFreedom([part, part, part])).toBeCloseTo(15, 12);
  });

  it('are endless when only certain parts contribute', () => {
    expect(
      effectiveDegreesOfFreedom([
        { standardUncertainty: 2, degreesOfFreedom: Infinity },
        { standardUncertainty: 0, degreesOfFreedom: 1 },
      ]),
    ).toBe(Infinity);
    expect(effectiveDegreesOfFreedom([])).toBe(Infinity);
  });

  it('refuse an uncertainty below zero, endless or no number, and degrees of freedom of zero', () => {
    for (const standardUncertainty of [-1, Infinity, Number.NaN]) {
      expect(() => effectiveDegreesOfFreedom([{ standardUncertainty, degreesOfFreedom: 3 }])).toThrow(RangeError);
    }
    expect(() => effectiveDegreesOfFreedom([{ standardUncertainty: 1, degreesOfFreedom: 0 }])).toThrow(RangeError);
  });
});

describe('rootBetween', () => {
  it('finds the crossing to the last digits', () => {
    expect(rootBetween((x) => x ** 3 - 2, 0, 5)).toBeCloseTo(Math.cbrt(2), 15);
    expect(rootBetween((x) => Math.exp(-x) - 1e-6, 0, 100)).toBeCloseTo(Math.log(1e6), 12);
    expect(rootBetween((x) => x, -1, 0)).toBe(0);
  });

  it('refuses places between which nothing crosses', () => {
    expect(() => rootBetween((x) => x * x + 1, -1, 1)).toThrow(RangeError);
    expect(() => rootBetween(() => Number.NaN, -1, 1)).toThrow(RangeError);
  });
});
