import { expect, it } from 'vitest';
import { dilutionRatio } from '../../src/calibration/dilution.ts';
import { plugTransitSeconds, tubeMillilitres } from '../../src/calibration/sampling-line.ts';

it('0.5 with 49.5 L/min is 100; a sample of 0.2 of 4 is 20 (computed: (sample + clean)/sample)', () => {
  expect(dilutionRatio(0.5, 49.5)).toBe(100);
  expect(dilutionRatio(0.2, 3.8)).toBe(20);
});

it('2 m of 4 mm bore hold 25.1327 mL and take 1.50796 s at 1 L/min (computed: π d² L/4Q)', () => {
  expect(Math.abs(tubeMillilitres(2, 4) / 25.132741 - 1)).toBeLessThan(1e-5);
  expect(Math.abs(plugTransitSeconds(2, 4, 1) / 1.50796 - 1)).toBeLessThan(1e-5);
});
