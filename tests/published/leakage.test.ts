import { describe, expect, it } from 'vitest';
import { interpolate, valueBetween } from '../../src/calibration/zero-span.ts';
import { inwardLeakagePercent, percentPerReading } from '../../src/leakage/inward-leakage.ts';
import { overallProtectionFactor, protectionFactor } from '../../src/leakage/protection-factor.ts';

const noFactors = { dilution: 1, penetration: 1, referenceDilution: 1, referencePenetration: 1, spatialFactor: 1 };

/** IL from concentrations read before and after, by the functions that assess a trial. */
function leakage(inside: number, background: number, before: number, after: number): number {
  const anchors = [
    { atMicroseconds: 0, value: before },
    { atMicroseconds: 100, value: after },
  ];
  const challenge = valueBetween(anchors, 30, 'before-and-after-mean')?.value ?? Number.NaN;
  return inwardLeakagePercent(inside, 0, background, percentPerReading(challenge, noFactors) ?? Number.NaN);
}

describe('leakage, published and computed values', () => {
  it('0.120 inside, background 0.020, challenge 9.8 and 10.2 give 1 % (computed: common base formula)', () => {
    expect(leakage(0.12, 0.02, 9.8, 10.2)).toBeCloseTo(1, 9);
  });

  it('0.05 where one breathes, 10 outside, 40 s in, 60 s out give 1.25 % (EN 149 8.5 quoted; form from memory)', () => {
    expect(0.05 * (percentPerReading(10, noFactors, (40 + 60) / 40) ?? Number.NaN)).toBeCloseTo(1.25, 12);
  });

  it('0.05 % is a nominal protection factor of 2000 (computed: NPF = 100/IL)', () => {
    expect(protectionFactor(0.05)).toBeCloseTo(2000, 9);
  });

  it('factors 100 and 1000 give 181.818 over all, not 550 (computed: harmonic form of 29 CFR 1910.134 App. A)', () => {
    expect(Math.abs(overallProtectionFactor([100, 1000]) / 181.8181818181818 - 1)).toBeLessThan(1e-9);
  });

  it('seven factors give 675.603 (computed: the same form)', () => {
    const overall = overallProtectionFactor([500, 1000, 800, 400, 1200, 600, 900]);
    expect(Math.abs(overall / 675.6032171581768 - 1)).toBeLessThan(1e-12);
  });

  it('100 to 700 in steps of 100 give 269.972 (computed: the same form)', () => {
    const overall = overallProtectionFactor([100, 200, 300, 400, 500, 600, 700]);
    expect(Math.abs(overall / 269.9724517906336 - 1)).toBeLessThan(1e-12);
  });

  it('chamber 20.4 and 19.2, inside 0.0396 give a factor of 500 (computed: before/after mean of App. A)', () => {
    expect(Math.abs((protectionFactor(leakage(0.0396, 0, 20.4, 19.2)) ?? 0) / 500 - 1)).toBeLessThan(1e-12);
  });

  it('peaks 0.02, 0.04, 0.03 at 10 give 333.333 and 250 (computed: App. A, from memory)', () => {
    const factors = [0.02, 0.04, 0.03].map((peak) => protectionFactor((100 * peak) / 10) ?? 0);
    expect(Math.abs(overallProtectionFactor(factors) / (1000 / 3) - 1)).toBeLessThan(1e-9);
    expect(Math.abs(Math.min(...factors) / 250 - 1)).toBeLessThan(1e-9);
  });

  it('zero 0.002 to 0.004, span 4.8 to 4.7, reading 0.1 give 2.04339583 % (computed: common practice)', () => {
    const at = (value: number, atMicroseconds: number) => ({ value, atMicroseconds });
    const zero = interpolate(at(0.002, 0), at(0.004, 1000), 500);
    const span = interpolate(at(4.8, 0), at(4.7, 1000), 500);
    const percent = inwardLeakagePercent(0.1, zero, 0, percentPerReading(span - zero, noFactors) ?? Number.NaN);
    expect(Math.abs(percent - 2.04339583)).toBeLessThan(1e-6);
  });
});
