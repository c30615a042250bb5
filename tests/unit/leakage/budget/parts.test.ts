import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { shotVariancePerReading, whiteVariance } from '../../../../src/calibration/shot-noise.ts';
import { covarianceOfMeans, interpolationVariance } from '../../../../src/calibration/wandering.ts';
import { exerciseInterval, slicePercentOf, sliceScatter } from '../../../../src/leakage/budget/slice.ts';
import { driftBetween, wanderBetween } from '../../../../src/leakage/budget/scatter.ts';
import { gaussianSource } from '../../../support/gaussian.ts';

describe('white noise of readings', () => {
  it('is found under a slope, a decay and a wander, and not invented', () => {
    const gaussian = gaussianSource(3);
    const slow = (index: number): number => 5 + 0.02 * index + 3 * Math.exp(-index / 20) + Math.sin(index / 40);
    const noisy = Float64Array.from({ length: 20_000 }, (_, index) => slow(index) + 0.1 * gaussian());
    expect(whiteVariance([noisy]) ?? 0).toBeCloseTo(0.01, 3);
    const quiet = Float64Array.from({ length: 400 }, (_, index) => 5 + 0.02 * index);
    expect(whiteVariance([quiet]) ?? 1).toBeLessThan(1e-20);
    expect(whiteVariance([new Float64Array(4)])).toBeNull();
    expect(whiteVariance([])).toBeNull();
  });

  it('grows with the concentration by the shot noise, and never falls', () => {
    const gaussian = gaussianSource(4);
    const air = Float64Array.from({ length: 20_000 }, () => 0.001 * gaussian());
    const challenge = Float64Array.from({ length: 20_000 }, () => 12 + Math.hypot(0.001, 0.05) * gaussian());
    expect(shotVariancePerReading([challenge], [air], 12) * 12).toBeCloseTo(0.0025, 4);
    expect(shotVariancePerReading([air], [challenge], 12)).toBe(0);
    expect(shotVariancePerReading([challenge], [air], 0)).toBe(0);
  });
});

describe('a challenge that wanders', () => {
  /** The same covariance by adding up the autocovariance on a fine grid: another way to the same number. */
  function summed(one: [number, number], other: [number, number], tau: number): number {
    const steps = 400;
    let sum = 0;
    for (let i = 0; i < steps; i += 1) {
      const t = one[0] + ((i + 0.5) / steps) * (one[1] - one[0]);
      for (let j = 0; j < steps; j += 1) {
        const s = other[0] + ((j + 0.5) / steps) * (other[1] - other[0]);
        sum += Math.exp(-Math.abs(t - s) / tau);
      }
    }
    return sum / steps ** 2;
  }
  const stretch = ([fromSeconds, toSeconds]: [number, number]) => ({ fromSeconds, toSeconds });

  it.each([
    [[0, 13], [0, 13], 90],
    [[0, 22], [145, 167], 90],
    [[145, 167], [0, 22], 10],
    [[0, 13], [13, 40], 30],
    [[0, 300], [0, 300], 10],
  ] as [[number, number], [number, number], number][])('means over %j and %j at %d s', (one, other, tau) => {
    expect(covarianceOfMeans(stretch(one), stretch(other), tau)).toBeCloseTo(summed(one, other, tau), 4);
  });

  it('refuses what has no length', () => {
    expect(() => covarianceOfMeans(stretch([0, 0]), stretch([0, 1]), 9)).toThrow(RangeError);
    expect(() => covarianceOfMeans(stretch([0, 1]), stretch([2, 3]), 0)).toThrow(RangeError);
  });

  it('is missed least close to a reference, and not at all when it hardly moves', () => {
    const before = stretch([0, 20]);
    const after = stretch([140, 160]);
    const missed = (from: number, tau: number): number =>
      interpolationVariance(stretch([from, from + 13]), before, after, (from + 6.5 - 10) / 140, tau);
    expect(missed(75, 90)).toBeGreaterThan(1.5 * missed(25, 90));
    expect(missed(75, 1e6)).toBeLessThan(1e-4);
    const wander = { wanders: [{ timeConstantSeconds: 90, relativeStandard: 0.02 }], degreesOfFreedom: 7 };
    const middle = wanderBetween(wander, stretch([75, 88]), before, after, 0.5);
    expect(middle).toBeCloseTo(0.02 * Math.sqrt(missed(75, 90)), 3);
    // Held from one side it misses more than between two.
    expect(wanderBetween(wander, stretch([75, 88]), before, null, 0)).toBeGreaterThan(1.2 * middle);
    // Where the air change time is not stated the worst of several counts.
    const several = [10, 90, 1000].map((seconds) => ({ timeConstantSeconds: seconds, relativeStandard: 0.02 }));
    const unknown = { ...wander, wanders: several };
    expect(wanderBetween(unknown, stretch([75, 88]), before, after, 0.5)).toBeGreaterThanOrEqual(middle);
  });
});

describe('a zero that drifts', () => {
  it('is known at its dwells and least in the middle', () => {
    const smooth = { shape: 'smooth', standard: 1e-6, degreesOfFreedom: 7 } as const;
    const walk = { shape: 'random-walk', standard: 1e-3, degreesOfFreedom: 7 } as const;
    for (const drift of [smooth, walk]) {
      expect(driftBetween(drift, 145, 0)).toBe(0);
      expect(driftBetween(drift, 145, 1)).toBe(0);
      expect(driftBetween(drift, 145, 0.5)).toBeGreaterThan(driftBetween(drift, 145, 0.2));
    }
    // A parabola k t² misses k w (1 − w) gap²; a walk scatters by q w (1 − w) gap.
    expect(driftBetween(smooth, 100, 0.5)).toBeCloseTo(1e-6 * 0.25 * 1e4, 12);
    expect(driftBetween(walk, 100, 0.5)).toBeCloseTo(1e-3 * Math.sqrt(25), 12);
  });
});

describe('slices of an exercise', () => {
  it('are pooled from dwells of one exercise where there are any, else from successive exercises', () => {
    const gaussian = gaussianSource(8);
    const course = (dwells: number) =>
      Array.from({ length: 400 }, () => Array.from({ length: dwells }, () => Math.exp(0.2 * gaussian())));
    const split = sliceScatter([course(2)]);
    expect(split?.from).toBe('dwells of one exercise');
    expect(split?.pairs).toBe(400);
    expect(split?.logStandard ?? 0).toBeCloseTo(0.2, 1);
    const whole = sliceScatter([course(1), course(1)]);
    expect(whole?.from).toBe('successive exercises');
    expect(whole?.pairs).toBe(798);
    expect(whole?.logStandard ?? 0).toBeCloseTo(0.2, 1);
    expect(sliceScatter([[[1]], [[2]]])).toBeNull();
    expect(sliceScatter([])).toBeNull();
  });

  it('give the interval of the mistakes that they make', () => {
    const gaussian = gaussianSource(9);
    const slice = { logStandard: 0.25, degreesOfFreedom: 1e6, pairs: 1, from: 'successive exercises' } as const;
    let covered = 0;
    const draws = 20_000;
    for (let draw = 0; draw < draws; draw += 1) {
      const truth = 1;
      const percent = truth * Math.exp(0.25 * gaussian()) + 0.02 * gaussian();
      const slicePercent = slicePercentOf(percent, 1, slice);
      const value = { percent, standardPercent: 0.02, degreesOfFreedom: null, slicePercent };
      const { exerciseHighPercent, exerciseLowPercent } = exerciseInterval(value, slice);
      if ((exerciseLowPercent ?? 9) <= truth && truth <= (exerciseHighPercent ?? 0)) covered += 1;
    }
    expect(covered / draws).toBeGreaterThan(0.94);
    expect(covered / draws).toBeLessThan(0.96);
  });

  it('hold the value always, and lose their logarithm near zero', () => {
    const slice = { logStandard: 0.3, degreesOfFreedom: 20, pairs: 30, from: 'dwells of one exercise' } as const;
    const percents = fc.double({ min: -1, max: 50, noNaN: true });
    const standards = fc.double({ min: 1e-6, max: 1, noNaN: true });
    fc.assert(
      fc.property(percents, standards, (percent, standardPercent) => {
        const slicePercent = slicePercentOf(percent, 2, slice);
        const { exerciseHighPercent: high, exerciseLowPercent: low } = exerciseInterval(
          { percent, standardPercent, degreesOfFreedom: 9, slicePercent },
          slice,
        );
        expect(low ?? Number.NaN).toBeLessThan(percent);
        expect(high ?? Number.NaN).toBeGreaterThan(percent);
        if (percent >= 5 * standardPercent) expect(low ?? Number.NaN).toBeGreaterThan(0);
      }),
    );
  });
});
