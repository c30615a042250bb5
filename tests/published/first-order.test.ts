import { expect, it } from 'vitest';
import { remainingShare, responseSeconds, stepResponse } from '../../src/calibration/response.ts';

it.each([
  ['t90', responseSeconds(0.9, 1), 2.302585],
  ['t95', responseSeconds(0.95, 1), 2.995732],
  ['t99', responseSeconds(0.99, 1), 4.60517],
  ['10 to 90 %', responseSeconds(0.9, 1) - responseSeconds(0.1, 1), 2.197225],
])('%s of a first-order response in units of tau (computed: 1 − e^(−t/tau))', (_, actual, expected) => {
  expect(Math.abs(actual - expected)).toBeLessThan(1e-6);
});

it('a step shows 0.6321206 of itself after one time constant (computed)', () => {
  expect(Math.abs(stepResponse(0.7, 0.7) - 0.6321206)).toBeLessThan(1e-7);
  expect(Math.abs(remainingShare(0.7, 0.7) - 0.3678794)).toBeLessThan(1e-7);
});
