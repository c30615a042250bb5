import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { crossedSingleAnalysis } from '../../src/statistics/analysis-of-variance.ts';
import { fitCensoredNormal } from '../../src/statistics/censored-normal.ts';
import { limitsOfAgreement } from '../../src/study/agreement.ts';
import { studyComponents } from '../../src/study/components.ts';
import { type Leakage, lognormalSummary, toleranceFactor, upperToleranceLimit } from '../../src/study/lognormal.ts';
import { passingShare } from '../../src/study/passing-share.ts';
import { leakageRatio } from '../../src/study/ratio.ts';
import { dissolvedIron, figuresApart, figuresOfR, readSets } from '../support/r/study-rows.ts';

const relative = (actual: number, expected: number): number => Math.abs(actual / expected - 1);
const plain = (values: readonly number[]): Leakage[] => values.map((percent) => ({ percent, below: false }));

describe('lognormal summaries (computed from the textbook formulas)', () => {
  it('of 2, 4, 8, 16, 32', () => {
    const summary = lognormalSummary(plain([2, 4, 8, 16, 32]));
    expect(relative(summary.geometricMean, 8)).toBeLessThan(1e-6);
    expect(relative(summary.geometricDeviation, 2.992059)).toBeLessThan(1e-6);
    expect(relative(summary.arithmeticMean, 14.585207)).toBeLessThan(1e-6);
    expect(relative(summary.percentile95, 48.52788)).toBeLessThan(1e-6);
    expect(summary.method).toBe('moments');
  });

  it('of ten leakages, with the limit below which 95 % lie, 95 % sure', () => {
    const values = plain([0.12, 0.25, 0.08, 0.31, 0.19, 0.44, 0.15, 0.22, 0.1, 0.27]);
    const summary = lognormalSummary(values);
    expect(relative(summary.geometricMean, 0.18809)).toBeLessThan(1e-5);
    expect(relative(summary.geometricDeviation, 1.710164)).toBeLessThan(1e-5);
    expect(relative(summary.arithmeticMean, 0.217214)).toBeLessThan(1e-5);
    expect(relative(upperToleranceLimit(values, 0.95, 0.95), 0.896871)).toBeLessThan(1e-5);
  });
});

describe('tolerance factors', () => {
  // Rows of n with the factors at (p, γ): computed from the noncentral t by another program (SciPy 1.17).
  const asked = [
    [0.9, 0.9],
    [0.9, 0.95],
    [0.95, 0.9],
    [0.95, 0.95],
    [0.99, 0.95],
    [0.9, 0.99],
    [0.8, 0.95],
  ] as const;
  it.each([
    [5, [2.7423, 3.4066, 3.3998, 4.2027, 5.7411, 5.3617, 2.4833]],
    [6, [2.4937, 3.0063, 3.0919, 3.7077, 5.062, 4.4111, 2.1907]],
    [8, [2.2186, 2.5819, 2.7543, 3.1873, 4.3539, 3.4972, 1.8754]],
    [10, [2.0657, 2.3546, 2.5684, 2.911, 3.9811, 3.0479, 1.7035]],
    [15, [1.8668, 2.0684, 2.329, 2.566, 3.5201, 2.5215, 1.483]],
    [20, [1.7652, 1.926, 2.2078, 2.396, 3.2952, 2.2756, 1.3714]],
    [30, [1.6571, 1.7773, 2.0798, 2.2198, 3.0639, 2.0298, 1.253]],
    [43, [1.5848, 1.6796, 1.9949, 2.1048, 2.9141, 1.874, 1.1741]],
    [50, [1.5595, 1.6456, 1.9653, 2.065, 2.8624, 1.8208, 1.1465]],
    [90, [1.4813, 1.5416, 1.8743, 1.9438, 2.7061, 1.6614, 1.0611]],
  ])('of %i values', (count, factors) => {
    const found = asked.map(([coverage, confidence]) => toleranceFactor(count, coverage, confidence));
    for (const [index, factor] of factors.entries()) {
      expect(Math.abs((found[index] ?? 0) - factor)).toBeLessThan(5e-4);
    }
  });

  it('exact for n = 43 and n = 40 at 0.90 and 0.99 (published for n = 40: real-statistics.com; else computed)', () => {
    expect(Math.abs(toleranceFactor(43, 0.9, 0.99) - 1.87395)).toBeLessThan(1e-4);
    expect(Math.abs(toleranceFactor(40, 0.9, 0.99) - 1.9017)).toBeLessThan(1e-4);
    expect(10 - 0.2 * toleranceFactor(40, 0.9, 0.99)).toBeCloseTo(9.6197, 4);
  });
});

describe('shares that pass, by Clopper and Pearson (computed by another program, SciPy 1.17)', () => {
  it.each([
    [8, 10, 0.493099, 0.443905, 0.974789],
    [9, 10, 0.605837, 0.554984, 0.997471],
    [10, 10, 0.741134, 0.691503, 1],
    [7, 10, 0.393376, 0.347547, 0.93326],
    [46, 50, 0.826209, 0.807657, 0.977772],
    [50, 50, 0.941845, 0.928878, 1],
    [82, 90, 0.845329, 0.832347, 0.960839],
    [90, 90, 0.967262, 0.959841, 1],
    [0, 10, 0, 0, 0.308497],
  ])('%i of %i', (passed, count, atLeast, low, high) => {
    const share = passingShare(passed, count);
    expect(Math.abs(share.atLeast - atLeast)).toBeLessThan(1e-6);
    expect(Math.abs(share.low - low)).toBeLessThan(1e-6);
    expect(Math.abs(share.high - high)).toBeLessThan(1e-6);
  });

  it.each([
    [0.9, 0.9, 22],
    [0.9, 0.95, 29],
    [0.95, 0.95, 59],
    [0.8, 0.8, 8],
  ])('without a failure show %f, %f sure, from %i subjects (zero-failure sizes, computed)', (share, sure, least) => {
    expect(passingShare(least, least, sure).atLeast).toBeGreaterThanOrEqual(share);
    expect(passingShare(least - 1, least - 1, sure).atLeast).toBeLessThan(share);
  });
});

describe('values below detection limits', () => {
  // "DFe, Summer": 20, <10 ×4, 7, 3, <3 ×2; summary published as example output of NADA censtats on rdrr.io.
  const summary = (): ReturnType<typeof fitCensoredNormal> =>
    fitCensoredNormal(
      dissolvedIron.filter(({ below }) => !below).map(({ value }) => Math.log(value)),
      dissolvedIron.filter(({ below }) => below).map(({ value }) => Math.log(value)),
    );

  it('median, mean and deviation of dissolved iron by maximum likelihood (published)', () => {
    const { mean, standardDeviation } = summary();
    const arithmetic = Math.exp(mean + standardDeviation ** 2 / 2);
    expect(Math.abs(Math.exp(mean) - 3.131899)).toBeLessThan(2e-6);
    expect(Math.abs(arithmetic - 5.211599)).toBeLessThan(2e-6);
    expect(Math.abs(arithmetic * Math.sqrt(Math.expm1(standardDeviation ** 2)) - 6.931668)).toBeLessThan(2e-6);
  });

  it('its parameters and likelihood (computed by another program)', () => {
    const { mean, standardDeviation, logLikelihood } = summary();
    expect(Math.abs(mean - 1.1416395)).toBeLessThan(1e-7);
    expect(Math.abs(standardDeviation - 1.0092049)).toBeLessThan(1e-7);
    expect(Math.abs(logLikelihood + 6.7799949)).toBeLessThan(1e-7);
  });

  it('the program summarises the same set, its median the same, and says how', () => {
    const found = lognormalSummary(dissolvedIron.map(({ value, below }) => ({ percent: value, below })));
    expect(Math.abs(found.median - 3.131899)).toBeLessThan(2e-6);
    expect(found).toMatchObject({ count: 9, below: 6, method: 'maximum-likelihood', geometricDeviationLow: null });
  });
});

describe('limits of agreement', () => {
  // Bland and Altman 1986, two peak-flow meters, first readings of 17 subjects (BlandAltmanLeh, PEFR.R).
  const large = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427];
  const mini = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451];
  const found = limitsOfAgreement(large.map((value, index) => [value, mini[index] ?? Number.NaN] as const));

  it('bias and deviation as published', () => {
    expect(relative(found.bias, -2.117647)).toBeLessThan(1e-6);
    expect(relative(found.standardDeviation, 38.76513)).toBeLessThan(1e-6);
  });

  it('limits of 1.96 s, and the interval of the bias (computed)', () => {
    expect(Math.abs(found.lowerLimit + 78.0973)).toBeLessThan(1e-4);
    expect(Math.abs(found.upperLimit - 73.862)).toBeLessThan(1e-4);
    expect(Math.abs(found.biasLow + 22.049)).toBeLessThan(1e-3);
    expect(Math.abs(found.biasHigh - 17.814)).toBeLessThan(1e-3);
    expect(found.limitReach / (found.biasHigh - found.bias)).toBeCloseTo(Math.sqrt(3), 12);
  });
});

describe('components of variance', () => {
  const logs = [
    [[1.0, 1.2], [1.4, 1.6], [0.9, 1.1]],
    [[1.5, 1.7], [1.9, 2.1], [1.2, 1.4]],
    [[0.8, 1.0], [1.1, 1.5], [0.7, 0.9]],
  ];

  it('of three subjects in three ensembles, twice (computed by another program)', () => {
    const found = studyComponents(
      logs.flatMap((row, subject) =>
        row.map((cell, ensemble) => ({
          subject: `S${subject}`,
          ensemble: `E${ensemble}`,
          percents: cell.map((value) => Math.exp(value)),
        })),
      ),
    );
    expect(Math.abs(found.subject - 0.103333)).toBeLessThan(1e-6);
    expect(Math.abs(found.ensemble - 0.083333)).toBeLessThan(1e-6);
    expect(found.interaction).toBe(0);
    expect(Math.abs(found.trial - 0.026667)).toBeLessThan(1e-6);
    expect(found.fSubject).toBeCloseTo(70.75, 9);
    expect(found.fEnsemble).toBeCloseTo(57.25, 9);
  });

  it('without repeats the rest is interaction and trial together: the means of the same cells', () => {
    const means = logs.map((row) => row.map(([first = 0, second = 0]) => (first + second) / 2));
    const found = crossedSingleAnalysis(means);
    // Mean squares of the table of means are those of the repeats, divided by their number.
    expect(found.rows.meanSquare).toBeCloseTo(0.628889 / 2, 6);
    expect(found.columns.meanSquare).toBeCloseTo(0.508889 / 2, 6);
    expect(found.residual.meanSquare).toBeCloseTo(0.008889 / 2, 6);
    // A constant of a billion changes nothing to speak of: no sums of squares of the values are formed.
    const shifted = crossedSingleAnalysis(means.map((row) => row.map((value) => value + 1e6)));
    expect(relative(shifted.residual.meanSquare, found.residual.meanSquare)).toBeLessThan(1e-7);
  });
});

describe('against R (fixtures/r/study.csv; its version in the first line)', () => {
  const stored = (name: string): string => readFileSync(new URL(`../../fixtures/r/${name}`, import.meta.url), 'utf8');
  const sets = readSets(stored('study-sets.csv'));
  const figures = figuresOfR(stored('study.csv'));

  it('tolerance factors, shares, censored and plain fits, contrasts and components agree', () => {
    expect(figures.size).toBeGreaterThan(150);
    expect(figuresApart(figures, sets, 1e-8)).toEqual([]);
  });

  it('a ratio turned round is one over it', () => {
    const own = sets.filter(({ set }) => set === 'paired-7-6-2');
    const of = (ensemble: string): Parameters<typeof leakageRatio>[0] => ({
      ensemble,
      bySubject: new Map(
        own
          .filter((row) => row.ensemble === ensemble)
          .map((row) => [row.subject, { percent: row.value, below: false }]),
      ),
    });
    const [forth, back] = [leakageRatio(of('A'), of('B'), 1), leakageRatio(of('B'), of('A'), 1)];
    expect(forth.method).toBe('paired');
    expect(relative(forth.ratio * back.ratio, 1)).toBeLessThan(1e-12);
    expect(relative(forth.low * back.high, 1)).toBeLessThan(1e-12);
  });
});
