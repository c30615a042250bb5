import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { carryOver, carryOverBound, stillSettling, zeroSlopeFactor } from '../../../src/leakage/carry-over.ts';
import { lagCorrectedMean, plainMean } from '../../../src/leakage/lag.ts';

const tau = (value: number) => ({ value, standardUncertainty: 0.03 * value });

describe('carryOver', () => {
  // The seconds are rounded to a tenth: up to a sixth of what is left at tau 0.3 s.
  it.each([
    // Seconds until 1 % of 0.01 % after 100 %, mean over 5 s, lag corrected with u(tau) 3 %.
    [0.3, 2.3],
    [1, 8.7],
    [2, 18.8],
  ])('tau %f s: after %f s one hundredth of 0.01 percent is left of 100 %', (seconds, settled) => {
    const left = carryOver(100, tau(seconds), 0, settled, 5, true);
    expect(left / 1e-4).toBeGreaterThan(0.8);
    expect(left / 1e-4).toBeLessThan(1.2);
  });

  it.each([
    [0.3, 3.3],
    [1, 12.2],
    [2, 25.8],
  ])('the same without lag correction needs %f s → %f s', (seconds, settled) => {
    const left = carryOver(100, tau(seconds), 0, settled, 5, false);
    expect(left / 1e-4).toBeGreaterThan(0.8);
    expect(left / 1e-4).toBeLessThan(1.2);
  });

  it('keeps the sign of the step and grows with dispersion, never beyond the step', () => {
    expect(carryOver(-2, tau(1), 0, 3, 5, true)).toBe(-carryOver(2, tau(1), 0, 3, 5, true));
    expect(carryOver(1, tau(1), 0.5, 3, 5, true)).toBeGreaterThan(carryOver(1, tau(1), 0, 3, 5, true));
    expect(carryOver(1, tau(0.1), 10, 3, 5, true)).toBeLessThanOrEqual((0.003 * 1) / 5);
  });

  it('is nothing without a time constant, and refuses a window without length', () => {
    expect(carryOver(1, { value: 0, standardUncertainty: 0 }, 0, 3, 5, true)).toBe(0);
    expect(() => carryOver(1, tau(1), 0, 3, 0, true)).toThrow(RangeError);
  });
});

describe('carryOverBound', () => {
  it('is the closed form at three standard uncertainties, worked by hand', () => {
    // 3u = 0.06 s, slowest 2.06 s: 100 · 0.06/5 · e^(−15/2.06) = 1.2 · e^(−7) · e^(−0.281553)
    // = 1.2 · 9.11882e-4 · 0.754611.
    const stated = { value: 2, standardUncertainty: 0.02 };
    expect(carryOverBound(100, stated, 0, 15, 5, true)).toBeCloseTo(8.2574e-4, 8);
    // Without lag correction 2.06 s in place of 0.06 s.
    expect(carryOverBound(100, stated, 0, 15, 5, false)).toBeCloseTo(8.2574e-4 * (2.06 / 0.06), 5);
    expect(carryOverBound(-100, stated, 0, 15, 5, true)).toBe(-carryOverBound(100, stated, 0, 15, 5, true));
    expect(carryOverBound(100, { value: 0, standardUncertainty: 0 }, 0, 1, 5, true)).toBe(0);
  });

  /** A first-order instrument that settles from a step of 1 to nothing, read every 50 ms. */
  const cases = fc.record({
    stated: fc.double({ min: 0.3, max: 4, noNaN: true }),
    share: fc.double({ min: 0.005, max: 0.05, noNaN: true }),
    deviations: fc.double({ min: -3, max: 3, noNaN: true }),
    settled: fc.double({ min: 0, max: 30, noNaN: true }),
    readings: fc.integer({ min: 8, max: 400 }),
  });
  const interval = 0.05;

  it('is above what any time constant within three standard uncertainties leaves', () => {
    fc.assert(
      fc.property(cases, ({ deviations, readings, settled, share, stated }) => {
        const u = share * stated;
        const truth = stated + deviations * u;
        const seconds = readings * interval;
        const bracket = Math.exp(-settled / truth) - Math.exp(-(settled + seconds) / truth);
        const left = ((truth - stated) / seconds) * bracket;
        const bound = carryOverBound(1, { value: stated, standardUncertainty: u }, 0, settled, seconds, true);
        expect(Math.abs(left)).toBeLessThanOrEqual(bound * (1 + 1e-12));
        const uncorrected = carryOverBound(1, { value: stated, standardUncertainty: u }, 0, settled, seconds, false);
        expect((truth / seconds) * bracket).toBeLessThanOrEqual(uncorrected * (1 + 1e-12));
      }),
    );
  });

  it('is above what the means of real readings keep', () => {
    fc.assert(
      fc.property(cases, ({ deviations, readings, settled, share, stated }) => {
        const u = share * stated;
        const truth = stated + deviations * u;
        const at = Float64Array.from({ length: readings }, (_, index) => 1e6 * (settled + index * interval));
        const values = at.map((microseconds) => Math.exp(-microseconds / 1e6 / truth));
        const corrected = lagCorrectedMean(at, values, 0, readings, stated, 0.3);
        const bound = (windowSeconds: number, lagCorrected: boolean): number =>
          carryOverBound(1, { value: stated, standardUncertainty: u }, 0, settled, windowSeconds, lagCorrected);
        // The trapezium rule of the mean leaves dt²/12 tau² of the decaying part (decision 0020).
        const rule = (interval / truth) ** 2 / 12;
        const lagSeconds = corrected.lagSeconds ?? 0;
        const allowed = bound(lagSeconds, true) + (rule * truth * Math.exp(-settled / truth)) / lagSeconds;
        expect(Math.abs(corrected.corrected)).toBeLessThanOrEqual(allowed * (1 + 1e-6) + 1e-14);
        const plain = plainMean(at, values, 0, readings);
        // A sum counts a falling curve from half an interval before its first reading.
        const half = Math.exp(interval / 2 / truth) * (1 + rule);
        expect(plain.corrected).toBeLessThanOrEqual(bound(readings * interval, false) * half);
      }),
    );
  });
});

describe('stillSettling', () => {
  it('asks for a fall from the side of the previous port, beyond noise and known drift', () => {
    expect(stillSettling(1, 1 - (zeroSlopeFactor + 0.1) * 0.01, 0, 0.01, 5)).toBe(true);
    expect(stillSettling(1, 1 - (zeroSlopeFactor - 0.1) * 0.01, 0, 0.01, 5)).toBe(false);
    expect(stillSettling(1, 1.1, 0, 0.01, 5)).toBe(false);
    expect(stillSettling(1, 1.1, 0, 0.01, -5)).toBe(true);
    expect(stillSettling(1, 0.9, -0.1, 0.01, 5)).toBe(false);
    expect(stillSettling(1, 1, 0.1, 0.01, 5)).toBe(true);
  });
});
