import { describe, expect, it } from 'vitest';
import { goneRetryMilliseconds, hostGoneMilliseconds, retryAfter } from '../../../../renderer/app/retry.ts';

/** The attempts of a window whose host has ended, each refused at once, ms since the first. */
function attemptsUntil(end: number): number[] {
  const attempts: number[] = [];
  for (let at = 0; at < end; at += retryAfter(attempts.length - 1, at)) attempts.push(at);
  return attempts;
}

describe('a window that looks for its host', () => {
  it('looks again soon at first, because a host that is busy is back soon', () => {
    expect(attemptsUntil(3_000)).toEqual([0, 200, 600, 1_400, 2_900]);
  });

  it('looks seldom once its host has ended, and does not stop looking', () => {
    const hour = attemptsUntil(3_600_000);
    const after = hour.filter((at) => at >= hostGoneMilliseconds);
    expect(hour.length - after.length).toBeLessThanOrEqual(24);
    const last = hour.at(-1) ?? 0;
    expect(after.length).toBe(Math.round((last - (after[0] ?? 0)) / goneRetryMilliseconds) + 1);
    expect(3_600_000 - last).toBeLessThanOrEqual(goneRetryMilliseconds);
  });
});
