import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { crossedAnalysis, oneWayAnalysis } from '../../src/statistics/analysis-of-variance.ts';
import { describeValues } from '../../src/statistics/univariate.ts';

// Sets with certified results: NIST Statistical Reference Datasets (public domain), as reproduced in public test files;
// the univariate ones were recomputed elsewhere with 60 digits and agree to every certified digit.
const data = JSON.parse(readFileSync(new URL('../../fixtures/reference-data.json', import.meta.url), 'utf8')) as {
  univariate: Record<string, number[]>;
  oneWay: Record<string, number[][]>;
};

const apart = (actual: number, expected: number): number => Math.abs(actual / expected - 1);

/** 1.2, then 1.1 and 1.3 five hundred times, all above an offset. */
const alternating = (middle: string, low: string, high: string): number[] => [
  Number(middle),
  ...Array.from({ length: 1000 }, (_, index) => Number(index % 2 === 0 ? low : high)),
];

describe('univariate sets', () => {
  it.each([
    ['Michelso', 299.8524, 0.0790105478190518, 0.535199668621283, 1e-12],
    ['Mavro', 2.001856, 0.000429123454003053, 0.937989183438248, 1e-10],
    ['Lew', -177.435, 277.332168044316, -0.307304800605679, 1e-12],
    ['Lottery', 518.95871559633, 291.699727470969, -0.120948622967393, 1e-12],
  ])('%s: mean %f, standard deviation %f, lag-1 correlation %f', (name, mean, deviation, correlation, limit) => {
    const found = describeValues(data.univariate[name] ?? []);
    expect(apart(found.mean, mean)).toBeLessThan(limit);
    expect(apart(found.standardDeviation, deviation)).toBeLessThan(limit);
    expect(apart(found.lagOneCorrelation ?? 0, correlation)).toBeLessThan(limit);
  });

  it('NumAcc1 exactly', () => {
    expect(describeValues([10000001, 10000003, 10000002])).toEqual({
      count: 3,
      mean: 10000002,
      standardDeviation: 1,
      lagOneCorrelation: -0.5,
    });
  });

  it.each([
    ['NumAcc2', alternating('1.2', '1.1', '1.3'), 1.2, 1e-13],
    ['NumAcc3', alternating('1000000.2', '1000000.1', '1000000.3'), 1000000.2, 1e-8],
    ['NumAcc4', alternating('10000000.2', '10000000.1', '10000000.3'), 10000000.2, 1e-7],
  ])('%s: standard deviation 0.1, lag-1 correlation -0.999', (_, values, mean, limit) => {
    const found = describeValues(values);
    expect(apart(found.mean, mean)).toBeLessThan(1e-15);
    expect(apart(found.standardDeviation, 0.1)).toBeLessThan(limit);
    expect(apart(found.lagOneCorrelation ?? 0, -0.999)).toBeLessThan(Math.max(limit, 1e-12));
  });
});

/** Nine treatments of an odd number of values: a middle one, then a tenth below and above in turn. */
const smallLessLarge = (offset: string, repeats: number): number[][] =>
  [4, 3, 5, 3, 5, 3, 5, 3, 5].map((middle) =>
    Array.from({ length: repeats }, (_, index) => {
      const tenths = index === 0 ? middle : index % 2 === 1 ? middle - 1 : middle + 1;
      return Number(`${offset}.${tenths}`);
    }),
  );

describe('one-way analysis of variance', () => {
  it('SiRstv', () => {
    const found = oneWayAnalysis(data.oneWay['SiRstv'] ?? []);
    expect(apart(found.f, 1.18046237440255)).toBeLessThan(1e-9);
    expect(apart(found.between.sumOfSquares, 5.11462616e-2)).toBeLessThan(1e-9);
    expect(apart(found.within.sumOfSquares, 2.1663656e-1)).toBeLessThan(1e-9);
    expect(apart(found.rSquared, 0.190999039051129)).toBeLessThan(1e-9);
    expect(apart(Math.sqrt(found.within.meanSquare), 0.104076068334656)).toBeLessThan(1e-9);
    expect([found.between.degreesOfFreedom, found.within.degreesOfFreedom]).toEqual([4, 20]);
  });

  it('AtmWtAg', () => {
    const found = oneWayAnalysis(data.oneWay['AtmWtAg'] ?? []);
    expect(apart(found.f, 15.946733567793)).toBeLessThan(1e-7);
    expect(apart(found.rSquared, 0.257426544538321)).toBeLessThan(1e-7);
    expect(apart(Math.sqrt(found.within.meanSquare), 1.5104831444641e-5)).toBeLessThan(1e-7);
  });

  it.each([
    ['SmLs01', '1', 21, 21, 1e-9],
    ['SmLs02', '1', 201, 201, 1e-9],
    ['SmLs03', '1', 2001, 2001, 1e-9],
    ['SmLs04', '1000000', 21, 21, 1e-8],
    ['SmLs05', '1000000', 201, 201, 1e-8],
    ['SmLs06', '1000000', 2001, 2001, 1e-8],
    // Double precision holds 1000000000000.4 to 5e-5: the limit is the input, not the sums.
    ['SmLs07', '1000000000000', 21, 21, 2e-4],
    ['SmLs08', '1000000000000', 201, 201, 2e-4],
    ['SmLs09', '1000000000000', 2001, 2001, 2e-4],
  ])('%s', (_, offset, repeats, f, limit) => {
    const found = oneWayAnalysis(smallLessLarge(offset, repeats));
    expect(apart(found.f, f)).toBeLessThan(limit);
    expect(found.within.degreesOfFreedom).toBe(9 * (repeats - 1));
  });
});

it('crossed design of three subjects, three ensembles and two repeats (computed by hand)', () => {
  const found = crossedAnalysis([
    [[1, 1.2], [1.4, 1.6], [0.9, 1.1]],
    [[1.5, 1.7], [1.9, 2.1], [1.2, 1.4]],
    [[0.8, 1], [1.1, 1.5], [0.7, 0.9]],
  ]);
  const { rows, columns, interaction, within } = found;
  const close = (actual: number, expected: number): void => {
    expect(Math.abs(actual - expected)).toBeLessThan(1e-6);
  };
  close(rows.meanSquare, 0.6288889);
  close(columns.meanSquare, 0.5088889);
  close(interaction.meanSquare, 0.0088889);
  close(within.meanSquare, 0.0266667);
  expect(apart(found.fRows, 70.75)).toBeLessThan(1e-6);
  expect(apart(found.fColumns, 57.25)).toBeLessThan(1e-6);
  close(found.components.rows, 0.1033333);
  close(found.components.columns, 0.0833333);
  expect(found.components.interaction).toBe(0);
  close(found.components.within, 0.0266667);
});
