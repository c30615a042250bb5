import { describe, expect, it } from 'vitest';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { fitCensoredNormal } from '../../../src/statistics/censored-normal.ts';
import { limitsOfAgreement } from '../../../src/study/agreement.ts';
import { type CrossedCell, studyComponents } from '../../../src/study/components.ts';
import { type Leakage, lognormalSummary, toleranceFactor, upperToleranceLimit } from '../../../src/study/lognormal.ts';
import { passingShare } from '../../../src/study/passing-share.ts';
import { type EnsembleLeakages, leakageRatio } from '../../../src/study/ratio.ts';

const read = (...values: number[]): Leakage[] => values.map((percent) => ({ percent, below: false }));
const below = (...values: number[]): Leakage[] => values.map((percent) => ({ percent, below: true }));
const worn = (ensemble: string, leakages: readonly Leakage[], first = 1): EnsembleLeakages => ({
  ensemble,
  bySubject: new Map(leakages.map((leakage, index) => [`S${first + index}`, leakage])),
});
const cell = (subject: string, ensemble: string, ...percents: number[]): CrossedCell => {
  return { subject, ensemble, percents };
};

describe('outside its range a statistic is refused', () => {
  it.each<[string, () => unknown]>([
    ['a summary of two', () => lognormalSummary(read(1, 2))],
    ['a summary with a zero', () => lognormalSummary(read(1, 2, 0))],
    ['a summary with no number', () => lognormalSummary(read(1, 2, Number.NaN))],
    ['a summary of the same thrice', () => lognormalSummary(read(1, 1, 1))],
    ['a summary with two above the limit', () => lognormalSummary([...read(1, 2), ...below(0.5, 0.5)])],
    [
      'a summary with five in six below',
      () => lognormalSummary([...read(1, 2, 3), ...below(...new Array<number>(15).fill(0.5))]),
    ],
    ['a confidence of half', () => lognormalSummary(read(1, 2, 3), 0.5)],
    ['a tolerance limit with one below', () => upperToleranceLimit([...read(1, 2, 3), ...below(0.5)], 0.8, 0.9)],
    ['a tolerance factor of two', () => toleranceFactor(2, 0.8, 0.9)],
    ['a tolerance factor of half a subject', () => toleranceFactor(3.5, 0.8, 0.9)],
    ['a tolerance factor beyond double precision', () => toleranceFactor(2000, 0.95, 0.95)],
    ['a coverage of one', () => toleranceFactor(10, 1, 0.9)],
    ['a share of none', () => passingShare(0, 0)],
    ['more that pass than there are', () => passingShare(3, 2)],
    ['half of one that passes', () => passingShare(0.5, 2)],
    ['a ratio of two pairs', () => leakageRatio(worn('A', read(1, 2)), worn('B', read(3, 4)), 1)],
    [
      'a ratio of pairs that nothing tells apart',
      () => leakageRatio(worn('A', read(1, 2, 4)), worn('B', read(2, 4, 8)), 1),
    ],
    [
      'a ratio with limits on both sides',
      () =>
        leakageRatio(worn('A', [...read(1, 2, 3, 4), ...below(1)]), worn('B', [...below(1), ...read(2, 5, 4, 3)]), 1),
    ],
    [
      'a ratio of a pair of which both are below',
      () => leakageRatio(worn('A', [...read(1, 2, 3), ...below(1)]), worn('B', [...read(2, 5, 4), ...below(1)]), 1),
    ],
    [
      'an unpaired ratio with a limit',
      () => leakageRatio(worn('A', [...read(1, 2, 3), ...below(1)]), worn('B', read(2, 5, 4), 9), 1),
    ],
    ['an unpaired ratio of two', () => leakageRatio(worn('A', read(1, 2, 3)), worn('B', read(2, 5), 9), 1)],
    ['agreement of two pairs', () => limitsOfAgreement([[1, 2], [2, 3]])],
    ['agreement of equal differences', () => limitsOfAgreement([[1, 2], [2, 3], [3, 4]])],
    ['agreement with no number', () => limitsOfAgreement([[1, 2], [2, Number.NaN], [3, 5]])],
    ['components of one ensemble', () => studyComponents(['S1', 'S2', 'S3'].map((subject) => cell(subject, 'A', 1)))],
    [
      'components of two subjects',
      () => studyComponents(['A', 'B'].flatMap((ensemble) => [cell('S1', ensemble, 1), cell('S2', ensemble, 2)])),
    ],
    [
      'components with a zero',
      () => studyComponents(['S1', 'S2', 'S3'].flatMap((subject) => [cell(subject, 'A', 1), cell(subject, 'B', 0)])),
    ],
    [
      'components where nothing scatters',
      () => studyComponents(['S1', 'S2', 'S3'].flatMap((subject) => [cell(subject, 'A', 1), cell(subject, 'B', 1)])),
    ],
  ])('%s', (_, call) => {
    let thrown: unknown = null;
    try {
      call();
    } catch (error) {
      thrown = error;
    }
    expect(isChambersideError(thrown, 'outside-validity')).toBe(true);
  });

  it('a fit refuses what has no top, or is no number', () => {
    expect(() => fitCensoredNormal([1], [2])).toThrow(RangeError);
    expect(() => fitCensoredNormal([1, 1], [2])).toThrow(RangeError);
    expect(() => fitCensoredNormal([1, 2], [Infinity])).toThrow(RangeError);
  });
});

describe('fitCensoredNormal', () => {
  it('without limits gives mean and root mean square, and σ/√n', () => {
    const fit = fitCensoredNormal([1, 2, 3, 6], []);
    expect(fit.mean).toBeCloseTo(3, 12);
    expect(fit.standardDeviation).toBeCloseTo(Math.sqrt(3.5), 12);
    expect(fit.standardErrorOfMean).toBeCloseTo(Math.sqrt(3.5 / 4), 12);
  });

  it('is moved and stretched with the values', () => {
    const plain = fitCensoredNormal([1, 2, 3, 6], [1.5, 0.5]);
    const move = (value: number): number => 1e3 * value - 5e5;
    const moved = fitCensoredNormal([1, 2, 3, 6].map(move), [1.5, 0.5].map(move));
    expect(moved.mean).toBeCloseTo(1e3 * plain.mean - 5e5, 5);
    expect(moved.standardDeviation).toBeCloseTo(1e3 * plain.standardDeviation, 5);
  });

  it('takes limits far below and far above everything that was read', () => {
    const read_ = [1, 1.1, 1.2, 1.3];
    const far = fitCensoredNormal(read_, [-500]);
    expect(Number.isFinite(far.logLikelihood)).toBe(true);
    // A value known only to lie below what all lie below says nothing.
    const high = fitCensoredNormal(read_, [50]);
    expect(high.mean).toBeCloseTo(fitCensoredNormal(read_, []).mean, 9);
  });
});

describe('passingShare', () => {
  it('counts those of whom it cannot be told as not complying in its lower bounds, as complying in its upper', () => {
    const found = passingShare(8, 9, 0.95, 1);
    expect(found).toMatchObject({ passed: 8, count: 9, share: 8 / 9 });
    expect(found.low).toBe(passingShare(8, 10).low);
    expect(found.atLeast).toBe(passingShare(8, 10).atLeast);
    expect(found.high).toBe(passingShare(9, 10).high);
    expect(passingShare(9, 9, 0.95, 1).high).toBe(1);
  });
});

describe('limitsOfAgreement', () => {
  it('has for one further difference an interval of its own, wider than the limits of few', () => {
    const found = limitsOfAgreement([[1.1, 1], [2.3, 2], [2.8, 3]]);
    const reach = 4.30265 * found.standardDeviation * Math.sqrt(4 / 3);
    expect(found.nextHigh - found.bias).toBeCloseTo(reach, 5);
    expect(found.bias - found.nextLow).toBeCloseTo(reach, 5);
    expect(found.nextHigh).toBeGreaterThan(2 * found.upperLimit);
  });
});

describe('leakageRatio', () => {
  const a = read(0.1, 0.2, 0.15, 0.3, 0.12);
  const b = read(0.21, 0.38, 0.33, 0.55, 0.26);

  it('pairs those who wore both, and leaves out who wore one', () => {
    const more = worn('B', [...b, { percent: 9, below: false }]);
    const found = leakageRatio(worn('A', a), more, 1);
    expect(found).toMatchObject({ method: 'paired', subjects: 5, below: 0 });
    expect(found.ratio).toBe(leakageRatio(worn('A', a), worn('B', b), 1).ratio);
  });

  it('is wider the more intervals hold together', () => {
    const one = leakageRatio(worn('A', a), worn('B', b), 1);
    const six = leakageRatio(worn('A', a), worn('B', b), 6);
    expect(six.low).toBeLessThan(one.low);
    expect(six.high).toBeGreaterThan(one.high);
    expect(six.probability).toBeCloseTo(6 * one.probability, 12);
  });

  it('below the limit in the lower one makes the ratio larger, in the upper one smaller', () => {
    const limited = [...a.slice(0, 4), { percent: 0.12, below: true }];
    const asRead = leakageRatio(worn('A', a), worn('B', b), 1);
    const larger = leakageRatio(worn('A', limited), worn('B', b), 1);
    expect(larger).toMatchObject({ method: 'paired-censored', below: 1 });
    expect(larger.ratio).toBeGreaterThan(asRead.ratio);
    const smaller = leakageRatio(worn('B', b), worn('A', limited), 1);
    expect(smaller.ratio * larger.ratio).toBeCloseTo(1, 9);
  });
});

describe('studyComponents', () => {
  it('leaves out who did not wear everything, and takes means where trials differ in number', () => {
    const cells = [1, 2, 3, 4].flatMap((subject) => [
      cell(`S${subject}`, 'A', 0.1 * subject, 0.12 * subject),
      cell(`S${subject}`, 'B', 0.25 * subject ** 1.1),
    ]);
    const found = studyComponents([...cells, cell('S9', 'A', 3)]);
    expect(found).toMatchObject({ subjects: 4, subjectsLeftOut: 1, averaged: true, interaction: null });
  });

  it('says how many trials lie below their limit, and only of subjects who wore everything', () => {
    const cells = [1, 2, 3].flatMap((subject) => [
      cell(`S${subject}`, 'A', 0.1 * subject),
      cell(`S${subject}`, 'B', 0.25 * subject ** 1.1),
    ]);
    const beside: CrossedCell = { subject: 'S9', ensemble: 'A', percents: [], below: 1 };
    expect(studyComponents([...cells, beside])).toMatchObject({ subjects: 3, subjectsLeftOut: 1 });
    expect(studyComponents([...cells, cell('S9', 'A', 0)])).toMatchObject({ subjects: 3 });
    const within = [beside, cell('S9', 'B', 0.2)];
    expect(() => studyComponents([...cells, ...within])).toThrow(
      'of 8 trials of subjects who wore all, below their detection limit 1',
    );
  });
});
