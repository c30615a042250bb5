import { describe, expect, it } from 'vitest';
import { phaseAverage, undoLag } from '../../src/leakage/bursts.ts';
import { smoothingFilter } from '../../src/statistics/smoothing-filter.ts';

describe('first-order inverse at 20 Hz (numerical study of the method; recomputed here from the weights)', () => {
  // Window in ms, degree, gain at 0.5, 1 and 2 Hz, noise gain at tau 0.3, 1 and 2 s: two figures each.
  it.each([
    [250, 2, [0.99, 0.95, 0.8], [2, 6.4, 12.7]],
    [450, 2, [0.96, 0.83, 0.42], [0.9, 2.6, 5.2]],
    [750, 2, [0.89, 0.57, 0.04], [0.5, 1.3, 2.4]],
    [750, 4, [1, 0.95, 0.53], [1, 3.1, 6.1]],
    [1050, 4, [0.99, 0.84, 0.05], [0.7, 1.9, 3.7]],
  ] as const)('%i ms, degree %i', (window, degree, gains, noises) => {
    const halfWidth = (window / 50 - 1) / 2;
    const inverse = (tau: number) => undoLag(new Float64Array(40), 0.05, tau, halfWidth, degree);
    [0.5, 1, 2].forEach((hertz, index) => {
      expect(Math.abs(inverse(1).gainAt(hertz) - (gains[index] ?? 0))).toBeLessThan(0.011);
    });
    [0.3, 1, 2].forEach((tau, index) => {
      expect(Math.abs(inverse(tau).noiseGain - (noises[index] ?? 0))).toBeLessThan(0.0501);
    });
  });

  it('noise gain of degree 2 is √(h₀ + τ² · 400/Σj²), h₀ the weight in the middle (formula of the same study)', () => {
    const middle = smoothingFilter(4, 2).value[4] ?? 0;
    expect(undoLag(new Float64Array(20), 0.05, 1, 4, 2).noiseGain).toBeCloseTo(Math.sqrt(middle + 400 / 60), 12);
  });
});

it('five-point quadratic weights are −3, 12, 17, 12, −3 over 35 and −2 … 2 over 10 (Savitzky and Golay 1964)', () => {
  const { value, slope } = smoothingFilter(2, 2);
  [-3, 12, 17, 12, -3].forEach((weight, index) => expect(value[index]).toBeCloseTo(weight / 35, 14));
  [-2, -1, 0, 1, 2].forEach((weight, index) => expect(slope[index]).toBeCloseTo(weight / 10, 14));
});

it.each([
  [0.3, 0.5, 0.73],
  [0.3, 1, 0.47],
  [1, 0.5, 0.3],
  [1, 1, 0.16],
  [2, 0.5, 0.16],
  [2, 1, 0.08],
])('tau %f s shows %f Hz with %f of its amplitude (computed: 1/√(1 + (2πfτ)²))', (tau, hertz, share) => {
  const seconds = Float64Array.from({ length: 200 }, (_, index) => index * 0.05);
  const found = phaseAverage(seconds, seconds.map(() => 1), 1 / hertz, 0, tau);
  expect(Math.abs(found.resolution - share)).toBeLessThan(0.0051);
});
