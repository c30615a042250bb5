import { describe, expect, it } from 'vitest';
import { crossedAnalysis, oneWayAnalysis } from '../../../src/statistics/analysis-of-variance.ts';
import { describeValues, sumOf } from '../../../src/statistics/univariate.ts';

describe('sumOf', () => {
  it('keeps what plain addition loses', () => {
    expect(sumOf([1, 1e100, 1, -1e100])).toBe(2);
    expect(sumOf([])).toBe(0);
  });

  it('hides neither NaN nor an infinity', () => {
    expect(sumOf([1, Number.NaN])).toBeNaN();
    expect(sumOf([1, Infinity])).toBe(Infinity);
  });
});

describe('describeValues', () => {
  it('knows no correlation of values that do not scatter', () => {
    expect(describeValues([0.1, 0.1, 0.1])).toMatchObject({ standardDeviation: 0, lagOneCorrelation: null });
  });

  it('refuses a single value and one that is not finite', () => {
    expect(() => describeValues([1])).toThrow(RangeError);
    expect(() => describeValues([1, Infinity])).toThrow(RangeError);
    expect(() => describeValues([Number.NaN, 1])).toThrow(RangeError);
  });
});

describe('oneWayAnalysis', () => {
  it('is the square of t for two groups', () => {
    // Two-sample t of these by hand: means 2 and 4, pooled variance 1, t = 2/√(2/3).
    const found = oneWayAnalysis([
      [1, 2, 3],
      [3, 4, 5],
    ]);
    expect(found.f).toBeCloseTo(6, 12);
    expect(found.probability).toBeCloseTo(0.0704840, 6);
  });

  it('is sure where nothing scatters within, and says nothing where nothing scatters at all', () => {
    expect(oneWayAnalysis([[1, 1], [2, 2]])).toMatchObject({ f: Infinity, probability: 0 });
    expect(oneWayAnalysis([[1, 1], [1, 1]]).f).toBeNaN();
  });

  it.each([
    ['one group', [[1, 2]]],
    ['an empty group', [[1, 2], []]],
    ['single values only', [[1], [2]]],
    ['a value that is no number', [[1, 2], [Number.NaN, 3]]],
  ])('refuses %s', (_, groups) => {
    expect(() => oneWayAnalysis(groups)).toThrow(RangeError);
  });
});

describe('crossedAnalysis', () => {
  it.each([
    ['one row', [[[1, 2], [2, 3]]]],
    ['single values', [[[1], [2]], [[3], [4]]]],
    ['a cell with fewer repeats', [[[1, 2], [2, 3]], [[3, 4], [4]]]],
    ['a value that is not finite', [[[1, 2], [2, 3]], [[3, 4], [4, Infinity]]]],
  ])('refuses %s', (_, cells) => {
    expect(() => crossedAnalysis(cells)).toThrow(RangeError);
  });
});
