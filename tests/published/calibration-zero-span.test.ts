import { expect, it } from 'vitest';
import { concentration } from '../../src/calibration/zero-span.ts';

it('reading 0.1221, zero 0.0021, span 4.8021 at 20 give 0.500, 2.5 % of it (computed: common practice)', () => {
  expect(Math.abs(concentration(0.1221, 0.0021, 4.8021, 20) / 0.5 - 1)).toBeLessThan(1e-9);
  expect(Math.abs(concentration(0.1221, 0.0021, 4.8021, 100) / 2.5 - 1)).toBeLessThan(1e-9);
});
