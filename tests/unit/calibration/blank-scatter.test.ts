import { describe, expect, it } from 'vitest';
import { autocorrelationSum, blankScatter, removeTrend } from '../../../src/calibration/blank-scatter.ts';
import { detectionLimits } from '../../../src/calibration/detection-limit.ts';
import { gaussianSource } from '../../support/gaussian.ts';

const seconds = (count: number): Float64Array => Float64Array.from({ length: count }, (_, index) => index * 0.05);

function blank(count: number, value: (seconds: number) => number) {
  const times = seconds(count);
  return { seconds: times, values: times.map(value) };
}

describe('removeTrend', () => {
  it('removes level, drift and what is left of the previous port, and nothing else', () => {
    const trend = removeTrend(
      blank(260, (t) => 5 + 0.01 * t + 3 * Math.exp(-t / 1)),
      1,
    );
    expect(Math.max(...trend.residuals.map(Math.abs))).toBeLessThan(1e-10);
    expect(trend.degreesOfFreedom).toBe(257);
  });

  it('leaves a faster wave alone', () => {
    const wave = blank(2000, (t) => Math.sin(2 * Math.PI * t));
    const { residuals } = removeTrend(wave, 1);
    const squares = residuals.reduce((sum, residual) => sum + residual * residual, 0);
    expect(squares / 2000).toBeCloseTo(0.5, 2);
  });

  it('does not spend a degree of freedom on a decay that it cannot see', () => {
    expect(
      removeTrend(
        blank(50, () => 1),
        0,
      ).degreesOfFreedom,
    ).toBe(48);
    expect(
      removeTrend(
        blank(50, () => 1),
        1e9,
      ).degreesOfFreedom,
    ).toBe(48);
  });
});

describe('blankScatter', () => {
  it('finds the scatter of white noise on drifting zeros, and no autocorrelation', () => {
    const gaussian = gaussianSource(3);
    const blanks = Array.from({ length: 12 }, (_, index) =>
      blank(260, (t) => index + 0.02 * t + Math.exp(-t) + 0.4 * gaussian()),
    );
    const scatter = blankScatter(blanks, 1);
    expect(scatter?.standardDeviation).toBeGreaterThan(0.39);
    expect(scatter?.standardDeviation).toBeLessThan(0.41);
    expect(scatter?.autocorrelationSum).toBeGreaterThan(0.85);
    expect(scatter?.autocorrelationSum).toBeLessThan(1.2);
    expect(scatter).toMatchObject({ blanks: 12, readings: 3120, degreesOfFreedom: 12 * 257 });
  });

  it('gives the integrated autocorrelation of a first-order process: (1 + r)/(1 − r)', () => {
    const gaussian = gaussianSource(5);
    const series = Array.from({ length: 40 }, () => {
      let state = 0;
      return Float64Array.from({ length: 600 }, () => (state = 0.6 * state + gaussian()));
    });
    expect(autocorrelationSum(series)).toBeGreaterThan(3.5);
    expect(autocorrelationSum(series)).toBeLessThan(4.5);
  });

  it('credits readings that alternate with a quieter mean, never with none', () => {
    const alternating = [Float64Array.from({ length: 100 }, (_, index) => (index % 2 === 0 ? 1 : -1))];
    expect(autocorrelationSum(alternating)).toBeGreaterThan(0);
    expect(autocorrelationSum(alternating)).toBeLessThan(0.05);
  });

  it('is 1 where nothing scatters', () => {
    expect(autocorrelationSum([new Float64Array(50)])).toBe(1);
    expect(autocorrelationSum([])).toBe(1);
  });

  it('has nothing to say about blanks of fewer than ten readings', () => {
    expect(blankScatter([blank(9, (t) => t)], 1)).toBeNull();
    expect(blankScatter([], 1)).toBeNull();
    expect(blankScatter([blank(9, (t) => t), blank(10, (t) => t * t)], 1)?.blanks).toBe(1);
  });
});

describe('detectionLimits', () => {
  it('is nothing for blanks that are all equal', () => {
    expect(detectionLimits([2, 2, 2])).toMatchObject({ mean: 2, standardDeviation: 0, detection: 0, decision: 0 });
  });

  it('refuses fewer than two blanks and blanks that are no numbers', () => {
    expect(() => detectionLimits([1])).toThrow(RangeError);
    expect(() => detectionLimits([1, Number.NaN])).toThrow(RangeError);
  });
});
