import { describe, expect, it } from 'vitest';
import {
  findPeaks,
  phaseAverage,
  robustDeviation,
  tellsSingleBursts,
  undoLag,
} from '../../../src/leakage/bursts.ts';
import { smoothingFilter } from '../../../src/statistics/smoothing-filter.ts';
import { gaussianSource } from '../../support/gaussian.ts';

const seconds = Float64Array.from({ length: 400 }, (_, index) => index * 0.05);

describe('findPeaks', () => {
  const draw = gaussianSource(4);
  const noise = seconds.map(() => 0.01 * draw());
  const centres = [3, 7.5, 12, 16];
  const bursts = seconds.map((at, index) =>
    centres.reduce((sum, centre) => sum + Math.exp(-(((at - centre) / 0.4) ** 2)), noise[index] ?? 0),
  );

  it('finds bursts with their places, heights and widths', () => {
    const peaks = findPeaks(seconds, bursts);
    expect(peaks).toHaveLength(4);
    peaks.forEach((peak, index) => {
      expect(Math.abs(peak.atSeconds - (centres[index] ?? 0))).toBeLessThan(0.2);
      expect(peak.prominence).toBeGreaterThan(0.9);
      // Full width at half height of e^(−(t/0.4)²).
      expect(Math.abs((peak.widthSeconds ?? 0) - 0.8 * Math.sqrt(Math.log(2)))).toBeLessThan(0.05);
    });
  });

  it('takes little of mere noise for a burst', () => {
    expect(findPeaks(seconds, noise, 6)).toHaveLength(0);
  });

  it('counts a plateau once, and one that reaches the end not at all', () => {
    const at = Float64Array.from([0, 1, 2, 3, 4, 5, 6, 7]);
    const peaks = findPeaks(at, Float64Array.from([0, 0, 2, 2, 0, 0, 1, 1]), 0);
    expect(peaks.map(({ atSeconds, prominence }) => [atSeconds, prominence])).toEqual([[2.5, 2]]);
  });

  it('measures prominence from the higher side', () => {
    const at = Float64Array.from([0, 1, 2, 3, 4, 5, 6]);
    const peaks = findPeaks(at, Float64Array.from([0, 5, 3, 4, 1, 9, 0]), 0);
    expect(peaks.map(({ prominence }) => prominence)).toEqual([4, 1, 9]);
  });

  it('is deaf to bursts in its measure of noise', () => {
    expect(robustDeviation(Float64Array.from([1, 2, 3, 4, 500]))).toBeCloseTo(1.4826, 12);
  });
});

describe('phaseAverage', () => {
  it('finds mean, amplitude and place of a movement, whatever part of a period is left over', () => {
    const values = seconds.map((at) => 3 + 0.5 * Math.cos((2 * Math.PI * (at - 0.4)) / 1.7));
    const found = phaseAverage(seconds, values, 1.7, 0, 0);
    expect(found.mean).toBeCloseTo(3, 12);
    expect(found.amplitude).toBeCloseTo(0.5, 12);
    expect(found.peakPhase).toBeCloseTo(0.4 / 1.7, 12);
    expect(found.resolution).toBe(1);
    expect(found.bins).toHaveLength(12);
    expect(Math.max(...found.bins.map((bin) => bin ?? 0))).toBeCloseTo(3.5, 1);
  });

  it('finds through a first order what its resolution says', () => {
    const tau = 1;
    const gain = 1 / Math.hypot(1, 2 * Math.PI * tau * 0.5);
    const lag = Math.atan(2 * Math.PI * tau * 0.5);
    const values = seconds.map((at) => 2 + gain * Math.cos(Math.PI * at - lag));
    const found = phaseAverage(seconds, values, 2, 0, tau);
    expect(found.amplitude / found.resolution).toBeCloseTo(1, 10);
  });

  it.each([
    ['no period', 0, 0],
    ['less than two periods', 12, 0],
    ['fewer than four readings in a period', 0.1, 0],
    ['a negative time constant', 2, -1],
  ])('refuses %s', (_, period, tau) => {
    expect(() => phaseAverage(seconds, seconds, period, 0, tau)).toThrow(RangeError);
  });

  it('refuses times that stand still and readings that are no numbers', () => {
    expect(() => phaseAverage(seconds.map(() => 1), seconds, 2, 0, 1)).toThrow(RangeError);
    expect(() => findPeaks(seconds, seconds.map(() => NaN))).toThrow(RangeError);
  });
});

describe('undoLag', () => {
  it('gives back what a first order has smeared', () => {
    const tau = 0.6;
    const gain = 1 / Math.hypot(1, Math.PI * tau);
    const lag = Math.atan(Math.PI * tau);
    const shown = seconds.map((at) => 1 + gain * Math.sin(Math.PI * at - lag));
    const { values, gainAt } = undoLag(shown, 0.05, tau);
    expect(gainAt(0.5)).toBeGreaterThan(0.99);
    values.forEach((value, index) => {
      if (index < 7 || index >= 393) expect(value).toBeNaN();
      else expect(Math.abs(value - 1 - Math.sin(Math.PI * (seconds[index] ?? 0)))).toBeLessThan(0.01);
    });
  });

  it('makes as much noise as it says', () => {
    const draw = gaussianSource(9);
    const { values, noiseGain } = undoLag(Float64Array.from({ length: 40_000 }, draw), 0.05, 1);
    const inner = values.subarray(7, 39_993);
    const squares = inner.reduce((sum, value) => sum + value * value, 0) / inner.length;
    expect(Math.sqrt(squares) / noiseGain).toBeCloseTo(1, 1);
    expect(tellsSingleBursts(32, noiseGain, 1)).toBe(true);
    expect(tellsSingleBursts(30, noiseGain, 1)).toBe(false);
  });

  it.each([
    () => undoLag(seconds, 0, 1),
    () => undoLag(seconds, 0.05, 0),
    () => smoothingFilter(0, 1),
    () => smoothingFilter(2, 5),
    () => smoothingFilter(2.5, 2),
  ])('refuses %s', (call) => {
    expect(call).toThrow(RangeError);
  });
});
