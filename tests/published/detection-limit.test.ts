import { describe, expect, it } from 'vitest';
import { detectionLimits } from '../../src/calibration/detection-limit.ts';
import { studentQuantile } from '../../src/statistics/distributions.ts';

const relative = (actual: number, expected: number): number => Math.abs(actual / expected - 1);

describe('detection limits, published and computed values', () => {
  const limits = detectionLimits([0.0012, 0.0009, 0.0011, 0.0014, 0.0008, 0.001, 0.0013]);

  it('mean and scatter of seven blanks (computed)', () => {
    expect(relative(limits.mean, 0.0011)).toBeLessThan(1e-6);
    expect(relative(limits.standardDeviation, 2.160247e-4)).toBeLessThan(1e-6);
  });

  it('3 s and 10 s (computed; the factors of IUPAC from memory)', () => {
    expect(relative(limits.detection, 6.480741e-4)).toBeLessThan(1e-5);
    expect(relative(limits.quantitation, 2.160247e-3)).toBeLessThan(1e-5);
  });

  it('method detection limit 3.143 s (computed; factor seen in the reprint of 40 CFR 136 App. B, NR 252.0365)', () => {
    // The value of the table rests on the factor as printed, four digits for 3.142668.
    expect(relative(limits.methodDetection * (3.143 / 3.142668), 6.78966e-4)).toBeLessThan(1e-5);
  });

  it('decision level and detection limit for a paired blank (computed; Currie from memory)', () => {
    expect(relative(limits.decision, 5.02511e-4)).toBeLessThan(1e-5);
    expect(relative(limits.pairedDetection, 1.00502e-3)).toBeLessThan(1e-5);
  });

  it.each([
    [7, 3.143],
    [8, 2.998],
    [9, 2.896],
    [10, 2.821],
    [11, 2.764],
    [16, 2.602],
    [21, 2.528],
  ])('t(0.99) for %i blanks is %f (seen: table of 40 CFR 136 App. B in the reprint NR 252.0365)', (blanks, factor) => {
    expect(Math.abs(studentQuantile(0.99, blanks - 1) - factor)).toBeLessThan(5e-4);
  });
});
