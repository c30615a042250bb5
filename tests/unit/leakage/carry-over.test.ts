import { describe, expect, it } from 'vitest';
import { carryOver, stillSettling, zeroSlopeFactor } from '../../../src/leakage/carry-over.ts';

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
