import { expect, it } from 'vitest';
import { dilutionRatio, dilutionRelativeUncertainty } from '../../../src/calibration/dilution.ts';
import { plugTransitSeconds, tubeMillilitres } from '../../../src/calibration/sampling-line.ts';

it('an undiluted port has ratio 1 and no uncertainty of it', () => {
  expect(dilutionRatio(2, 0)).toBe(1);
  expect(dilutionRelativeUncertainty(2, 0, 0.02, 0.02)).toBe(0);
});

it('the uncertainty is what moving each flow by its own gives', () => {
  const shift = 1e-6;
  const base = dilutionRatio(0.5, 9.5);
  const sample = (dilutionRatio(0.5 * (1 + shift), 9.5) / base - 1) / shift;
  const clean = (dilutionRatio(0.5, 9.5 * (1 + shift)) / base - 1) / shift;
  const byDifferences = Math.hypot(sample * 0.02, clean * 0.01);
  expect(dilutionRelativeUncertainty(0.5, 9.5, 0.02, 0.01)).toBeCloseTo(byDifferences, 6);
});

it.each([
  [0, 1],
  [-1, 1],
  [1, -1],
  [Number.NaN, 1],
  [1, Number.POSITIVE_INFINITY],
])('refuses flows %f and %f', (sample, clean) => {
  expect(() => dilutionRatio(sample, clean)).toThrow(RangeError);
});

it('refuses a negative uncertainty, and a tube without length, bore or flow', () => {
  expect(() => dilutionRelativeUncertainty(1, 1, -0.01, 0)).toThrow(RangeError);
  expect(() => tubeMillilitres(0, 4)).toThrow(RangeError);
  expect(() => tubeMillilitres(2, -4)).toThrow(RangeError);
  expect(() => plugTransitSeconds(2, 4, 0)).toThrow(RangeError);
});
