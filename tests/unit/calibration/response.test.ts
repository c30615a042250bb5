import { expect, it } from 'vitest';
import { remainingShare, responseSeconds, stepResponse } from '../../../src/calibration/response.ts';

it('nothing shows before the step', () => {
  expect(stepResponse(-3, 1)).toBe(0);
  expect(stepResponse(0, 1)).toBe(0);
  expect(remainingShare(-3, 1)).toBe(1);
});

it('what shows and what is missing make the whole step', () => {
  for (const seconds of [1e-9, 0.01, 1, 10, 700]) {
    expect(stepResponse(seconds, 0.3) + remainingShare(seconds, 0.3)).toBeCloseTo(1, 12);
  }
});

it('the time of a share leads back to the share, tiny shares included', () => {
  for (const share of [0, 1e-12, 0.5, 0.999999]) {
    const back = stepResponse(responseSeconds(share, 2), 2);
    expect(Math.abs(back - share)).toBeLessThanOrEqual(1e-9 * share);
  }
});

it('refuses a time constant that is not positive and a share that is never reached', () => {
  expect(() => stepResponse(1, 0)).toThrow(RangeError);
  expect(() => remainingShare(1, Number.NaN)).toThrow(RangeError);
  expect(() => responseSeconds(1, 1)).toThrow(RangeError);
  expect(() => responseSeconds(-0.1, 1)).toThrow(RangeError);
});
