import { expect, it } from 'vitest';
import { createPatience } from '../../../../src/host/rehearsal/patience.ts';

it('counts refusals from the first one after a success, not from the first of all', () => {
  let now = 0;
  const patience = createPatience(() => now, 10_000);
  const refusedAt = (milliseconds: number): boolean => {
    now = milliseconds;
    return patience.refused();
  };
  expect(refusedAt(1000)).toBe(false);
  expect(refusedAt(10_999)).toBe(false);
  patience.succeeded();
  expect(refusedAt(60_000)).toBe(false);
  expect(refusedAt(69_999)).toBe(false);
  expect(refusedAt(70_000)).toBe(true);
});
