import { describe, expect, it } from 'vitest';
import { combineSteps, dispersedStep, fitStep, type StepReadings } from '../../../src/calibration/step-response.ts';
import { gaussianSource } from '../../support/gaussian.ts';
import { expectWithinTolerances } from '../../support/rig-steps.ts';

/** A fall from 12 to 0.05 at 20 Hz that is exactly of the fitted shape, with white noise. */
function fall(transit: number, dispersion: number, timeConstant: number, noise: number, seed = 1): StepReadings {
  const draw = gaussianSource(seed);
  const seconds = Float64Array.from({ length: 400 }, (_, index) => -2 + index * 0.05);
  const values = seconds.map(
    (at) => 12 - 11.95 * dispersedStep(at, transit, dispersion, timeConstant) + noise * draw(),
  );
  return { seconds, values };
}

const guess = { transitSeconds: 0.5, timeConstantSeconds: 1 };

describe('dispersedStep', () => {
  it('is a delayed exponential without dispersion, and comes to it as dispersion goes', () => {
    expect(dispersedStep(1.6, 0.6, 0, 0.5)).toBeCloseTo(1 - Math.exp(-2), 14);
    expect(dispersedStep(1.6, 0.6, 1e-4, 0.5)).toBeCloseTo(1 - Math.exp(-2), 7);
    expect(dispersedStep(0.3, 0.6, 0, 0.5)).toBe(0);
  });

  it('is the convolution of its parts', () => {
    // Midpoint rule over the Gaussian delay.
    let sum = 0;
    for (let index = 0; index < 4000; index += 1) {
      const z = -8 + (index + 0.5) * 0.004;
      const share = (0.004 * Math.exp((-z * z) / 2)) / Math.sqrt(2 * Math.PI);
      sum += share * dispersedStep(1.1, 0.7 + 0.15 * z, 0, 0.4);
    }
    expect(dispersedStep(1.1, 0.7, 0.15, 0.4)).toBeCloseTo(sum, 6);
  });

  it('is no NaN long before and long after', () => {
    expect(dispersedStep(-1000, 0.7, 0.01, 0.1)).toBe(0);
    expect(dispersedStep(1000, 0.7, 0.01, 0.1)).toBe(1);
  });
});

describe('fitStep', () => {
  it('finds an exact shape to many digits', () => {
    const fit = fitStep(fall(0.62, 0.15, 0.9, 0), guess);
    expect(fit).toMatchObject({ model: 'delay, dispersion and exponential', reason: null, readings: 400 });
    expect(fit.transitSeconds).toBeCloseTo(0.62, 9);
    expect(fit.dispersionSeconds).toBeCloseTo(0.15, 9);
    expect(fit.timeConstantSeconds).toBeCloseTo(0.9, 9);
    expect(fit.before).toBeCloseTo(12, 9);
    expect(fit.after).toBeCloseTo(0.05, 9);
  });

  it.each([0.3, 1, 2])('takes the model without dispersion where there is none, tau %f s', (timeConstant) => {
    const fit = fitStep(fall(0.637, 0, timeConstant, 0.01), { transitSeconds: 0.5, timeConstantSeconds: 1 });
    expect(fit.model).toBe('delay and exponential');
    expect(fit.reason).not.toBeNull();
    expect(fit.dispersionSeconds).toBe(0);
    expect(Math.abs(fit.transitSeconds - 0.637)).toBeLessThan(0.005);
    expect(Math.abs(fit.timeConstantSeconds / timeConstant - 1)).toBeLessThan(0.005);
  });

  it('fits a rise as well', () => {
    const { seconds, values } = fall(0.62, 0.15, 0.9, 0.005);
    const rise = fitStep({ seconds, values: values.map((value) => 12.05 - value) }, guess);
    expect(rise.transitSeconds).toBeCloseTo(0.62, 2);
    expect(rise.after).toBeCloseTo(12, 2);
  });

  it('begins from certificate values that are half or twice the truth', () => {
    for (const factor of [0.5, 2]) {
      const fit = fitStep(fall(0.62, 0.15, 0.9, 0.005), {
        transitSeconds: 0.62 * factor,
        timeConstantSeconds: 0.9 * factor,
      });
      expect(fit.timeConstantSeconds).toBeCloseTo(0.9, 2);
    }
  });

  const { seconds, values } = fall(0.62, 0.15, 0.9, 0.005);
  it.each([
    ['a flat line', { seconds, values: values.map(() => 3) }],
    ['nothing but scatter', { seconds, values: values.map((_, index) => (index % 7) - 3) }],
    ['readings after the step alone', { seconds: seconds.map((at) => at + 3), values }],
    ['few readings after it', { seconds: seconds.map((at) => at - 17.5), values }],
    ['times that do not ascend', { seconds: seconds.slice().reverse(), values }],
    ['a reading that is no number', { seconds, values: values.map((value, index) => (index === 50 ? NaN : value)) }],
  ])('refuses %s', (_, readings) => {
    expect(() => fitStep(readings, guess)).toThrow(RangeError);
  });
});

describe('against the truth of the virtual rig, five falls (more seeds in the landing tier)', () => {
  it.each([
    [0.08, 0.3],
    [0.1, 0.3],
    [0.08, 1],
    [0.33, 1],
    [0.08, 2],
  ])('dispersion %f s, tau %f s', (dispersion, timeConstant) => {
    expectWithinTolerances(dispersion, timeConstant, 1);
  });
});

describe('combineSteps', () => {
  const fits = [0.6, 0.601, 0.599, 0.6, 0.6].map((transit) => fitStep(fall(transit, 0.15, 0.9, 0), guess));

  it('never claims less than half a sampling interval/√3 and 1 % of the time constant', () => {
    const response = combineSteps(fits, 0.05);
    expect(response.transitSeconds.standardUncertainty).toBeCloseTo(0.05 / 2 / Math.sqrt(3), 12);
    expect(response.timeConstantSeconds.standardUncertainty).toBeCloseTo(0.009, 9);
    expect(response.sumSeconds.value).toBeCloseTo(1.5, 9);
    expect(response.dispersionSeconds).toBeCloseTo(0.15, 9);
  });

  it('claims what the repeats scatter where that is more', () => {
    expect(combineSteps(fits, 0.0001).transitSeconds.standardUncertainty).toBeCloseTo(Math.sqrt(5e-7 / 5), 9);
  });

  it('refuses fewer than five, and no sampling interval', () => {
    expect(() => combineSteps(fits.slice(1), 0.05)).toThrow(RangeError);
    expect(() => combineSteps(fits, 0)).toThrow(RangeError);
  });
});
