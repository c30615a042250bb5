import { describe, expect, it } from 'vitest';
import {
  airChanges,
  secondsUntilWithin,
  shareOfSteady,
  steadyConcentration,
} from '../../../src/calibration/chamber-balance.ts';
import { timeWeightedExposure, worstExposure } from '../../../src/calibration/exposure.ts';
import { linearity } from '../../../src/calibration/linearity.ts';
import {
  diffusionPenetration,
  gravityPenetration,
  linePenetration,
  massMedianDiameter,
  settlingSpeed,
  slipCorrection,
} from '../../../src/calibration/particle-loss.ts';
import { reynoldsNumber } from '../../../src/calibration/sampling-line.ts';
import { uniformity } from '../../../src/calibration/uniformity.ts';
import { gaussianSource } from '../../support/gaussian.ts';

describe('airChanges', () => {
  const seconds = Float64Array.from({ length: 120 }, (_, index) => 500 + index * 5);
  const course = (start: number, steady: number, perHour: number, noise: number): Float64Array => {
    const draw = gaussianSource(7);
    return seconds.map(
      (second) => steady + (start - steady) * Math.exp((-perHour * (second - 500)) / 3600) + noise * draw(),
    );
  };

  it('come from a decay and from a rise', () => {
    expect(airChanges(seconds, course(20, 0.1, 40, 0)).perHour).toBeCloseTo(40, 6);
    const rise = airChanges(seconds, course(0, 18, 25, 0));
    expect(rise.perHour).toBeCloseTo(25, 6);
    expect(rise.steady).toBeCloseTo(18, 6);
  });

  it('lie within three standard errors under white noise', () => {
    const found = airChanges(seconds, course(20, 0.1, 40, 0.1));
    expect(found.standardErrorPerHour).toBeGreaterThan(0);
    expect(Math.abs(found.perHour - 40)).toBeLessThan(3 * (found.standardErrorPerHour ?? 0));
  });

  it.each([
    ['a flat course', seconds.map(() => 3)],
    ['the beginning of one only', course(20, 0, 2, 0.1)],
    ['nothing but noise', course(5, 5, 40, 0.1)],
    ['a value that is no number', course(20, 0.1, 40, 0).fill(NaN, 5, 6)],
  ])('refuse %s', (_, values) => {
    expect(() => airChanges(seconds, values)).toThrow(RangeError);
  });

  it('refuse fewer than ten readings', () => {
    expect(() => airChanges(seconds.subarray(0, 9), seconds.subarray(0, 9))).toThrow(RangeError);
  });
});

describe('mass balance', () => {
  it('is generator over flow', () => {
    expect(steadyConcentration(40, 120)).toBe(20);
    expect(shareOfSteady(6, secondsUntilWithin(0.05, 6))).toBeCloseTo(0.95, 12);
  });

  it.each([
    () => steadyConcentration(-1, 5),
    () => steadyConcentration(1, 0),
    () => shareOfSteady(0, 5),
    () => shareOfSteady(3, -1),
    () => secondsUntilWithin(1, 5),
    () => secondsUntilWithin(0.5, Number.NaN),
  ])('refuses %s', (call) => {
    expect(call).toThrow(RangeError);
  });
});

describe('uniformity', () => {
  const at = (place: string, value: number) => ({ place, xMetres: 0, yMetres: 0, zMetres: 0, value });

  it('maps every place in its order', () => {
    const { map } = uniformity([at('a', 9), at('b', 10), at('c', 11)]);
    expect(map.map(({ deviationPercent }) => deviationPercent)).toEqual([-10, 0, 10]);
  });

  it.each([
    ['two places', [at('a', 1), at('b', 1)]],
    ['two of one name', [at('a', 1), at('a', 1), at('b', 1)]],
    ['a mean of nothing', [at('a', 1), at('b', -1), at('c', 0)]],
    ['a value that is no number', [at('a', 1), at('b', NaN), at('c', 1)]],
  ])('refuses %s', (_, readings) => {
    expect(() => uniformity(readings)).toThrow(RangeError);
  });
});

describe('linearity', () => {
  const levels = [0, 5, 10, 15, 20].map((concentration) => ({ concentration, reading: 0.02 + 0.4 * concentration }));

  it('finds the line and no residual', () => {
    const found = linearity(levels);
    expect(found.slope).toBeCloseTo(0.4, 12);
    expect(found.intercept).toBeCloseTo(0.02, 12);
    expect(found).toMatchObject({ passed: true });
    expect(found.largestPercent).toBeLessThan(1e-9);
  });

  it('fails a level beyond 2 % of the span, and names how far', () => {
    // One of five evenly spaced levels, the middle one, keeps 0.8 of its deviation: 0.24 of a span of 8 is 3 %.
    const bent = levels.map((level, index) => (index === 2 ? { ...level, reading: level.reading + 0.3 } : level));
    const found = linearity(bent);
    expect(found.passed).toBe(false);
    expect(found.largestPercent).toBeCloseTo(3, 9);
    expect(found.residuals.reduce((sum, residual) => sum + residual, 0)).toBeCloseTo(0, 12);
  });

  it.each([
    ['four levels', levels.slice(1)],
    ['levels all alike', levels.map((level) => ({ ...level, concentration: 3 }))],
    ['a falling line', levels.map(({ concentration, reading }) => ({ concentration, reading: -reading }))],
    ['a reading that is no number', levels.map((level) => ({ ...level, reading: NaN }))],
  ])('refuses %s', (_, bad) => {
    expect(() => linearity(bad)).toThrow(RangeError);
  });
});

describe('line losses', () => {
  const line = { lengthMetres: 2, boreMillimetres: 4, litresPerMinute: 1, slopeDegrees: 90 };

  it('lose nothing to gravity in an upright line, and everything where nothing can stay afloat', () => {
    expect(linePenetration(line, 5).gravity).toBeCloseTo(1, 12);
    expect(gravityPenetration(1)).toBe(0);
    expect(diffusionPenetration(0)).toBe(1);
  });

  it.each([
    () => linePenetration({ ...line, litresPerMinute: 20 }, 1),
    () => linePenetration({ ...line, slopeDegrees: 91 }, 1),
    () => linePenetration(line, 0),
    () => reynoldsNumber(0, 1),
    () => slipCorrection(-1),
    () => settlingSpeed(1, 0),
    () => diffusionPenetration(-1),
    () => gravityPenetration(Number.NaN),
    () => massMedianDiameter(0.2, 0.9),
  ])('refuse %s', (call) => {
    expect(call).toThrow(RangeError);
  });
});

describe('exposure', () => {
  const stays = [
    { concentration: 4, seconds: 600 },
    { concentration: 20, seconds: 300 },
    { concentration: 0, seconds: 300 },
    { concentration: 8, seconds: 600 },
  ];

  it('finds the worst stretch', () => {
    // 900 s that end with the 20: 4·600 + 20·300 = 8400.
    expect(worstExposure(stays, 900)).toBeCloseTo(8400 / 900, 12);
    expect(worstExposure(stays, 100)).toBe(20);
    expect(worstExposure(stays, 36_000)).toBeCloseTo((2400 + 6000 + 4800) / 36_000, 12);
  });

  it.each([
    () => timeWeightedExposure(stays, 900),
    () => timeWeightedExposure([{ concentration: -1, seconds: 3 }], 900),
    () => timeWeightedExposure([], 0),
    () => worstExposure([{ concentration: 1, seconds: Infinity }], 900),
    () => worstExposure(stays, Infinity),
  ])('refuses %s', (call) => {
    expect(call).toThrow(RangeError);
  });
});
