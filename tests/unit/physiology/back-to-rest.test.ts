import { expect, it } from 'vitest';
import { backToRest, backToRestInWords, recoveredPerMinute } from '../../../src/physiology/back-to-rest.ts';

/** A reading each second from 90 to 200 s; the effort ends at 100 s. */
function record(rate: (second: number) => number, from = 90, to = 200) {
  const seconds = Float64Array.from({ length: to - from }, (_, index) => from + index);
  return { seconds, perMinute: seconds.map(rate) };
}
const falling = (perSecond: number) => (second: number): number => 150 - perSecond * Math.max(0, second - 100);

// The limit of 110 a minute one minute after the effort: from memory (src/physiology/back-to-rest.ts).
it('is back when the mean around one minute later is at or below the limit', () => {
  expect(recoveredPerMinute).toBe(110);
  const found = backToRest(record(falling(1)), 100, 200);
  expect(found.state).toBe('back');
  expect(found.afterOneMinute).toBeCloseTo(90, 9);
  expect(found.backAfterSeconds).toBe(40);
});

it('is not back above it, and says when it came back after all', () => {
  const found = backToRest(record(falling(0.5)), 100, 200);
  expect(found).toMatchObject({ state: 'not-back', afterOneMinute: 120, backAfterSeconds: 80 });
  expect(backToRestInWords(found)).toContain('first at or below it after 80 s');
});

it('waits for the minute, and does not guess where nothing was read', () => {
  expect(backToRest(record(falling(1)), 100, 164).state).toBe('waiting');
  expect(backToRest(record(falling(1), 90, 120), 100, 200).state).toBe('unread');
  // The end of the effort was not read, for want of contact or of a host: the minute after it was.
  expect(backToRest(record(falling(1), 140), 100, 200)).toMatchObject({ state: 'back', afterOneMinute: 90 });
  // A belt that came off reads zero: that is no heart's rate.
  const off = record((second) => (second > 100 ? 0 : 150));
  expect(backToRest(off, 100, 200)).toMatchObject({ state: 'unread', backAfterSeconds: null });
});
