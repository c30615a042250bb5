import { describe, expect, it } from 'vitest';
import { createTrialClock } from '../../../../src/host/clock/trial-clock.ts';
import { createVirtualClock } from '../../../../src/host/clock/virtual-clock.ts';
import { timeSegmentSchema } from '../../../../src/model/time.ts';

const bootId = 'b-0123456789ab';
const wallNow = (): Date => new Date(Date.UTC(2030, 0, 2, 3, 4, 5, 678));

describe('trial clock', () => {
  it('begins near zero whatever the source says, and records the segment', async () => {
    const source = createVirtualClock(7_000_000);
    const clock = createTrialClock({ source, bootId, wallNow, segment: 0, reason: 'start', beginsAtMicroseconds: 0 });
    expect(clock.now()).toBe(0);
    expect(timeSegmentSchema.parse(clock.segment)).toEqual({
      segment: 0,
      bootId,
      reason: 'start',
      beginsAtMicroseconds: 0,
      monotonicOriginMicroseconds: 7_000_000,
      wallAnchor: '2030-01-02T03:04:05.678Z',
    });
    const seen: number[] = [];
    clock.at(1_500_000, () => seen.push(clock.now(), source.now()));
    clock.after(250_000, () => seen.push(clock.now()));
    await source.run();
    expect(seen).toEqual([250_000, 1_500_000, 8_500_000]);
    expect(clock.toTrialTime(7_000_010)).toBe(10);
  });

  it('goes on where a restarted trial stands', () => {
    const source = createVirtualClock(5);
    const clock = createTrialClock({
      source,
      bootId,
      wallNow,
      segment: 3,
      reason: 'restart',
      beginsAtMicroseconds: 90_000_000,
    });
    expect(clock.now()).toBe(90_000_000);
    expect(clock.segment.segment).toBe(3);
  });

  it('moves waiting deadlines with a new segment and brings those that have passed at once, in order', async () => {
    const source = createVirtualClock(1000);
    const clock = createTrialClock({ source, bootId, wallNow, segment: 0, reason: 'start', beginsAtMicroseconds: 0 });
    const seen: string[] = [];
    clock.at(500, () => seen.push(`passed at ${clock.now()}`));
    clock.at(500, () => seen.push(`passed too at ${clock.now()}`));
    clock.at(20_000, () => seen.push(`later at ${clock.now()}`));
    const cancel = clock.at(700, () => seen.push('cancelled'));
    await source.run({ until: 1100 });
    const segment = clock.beginSegment('wake', 10_000);
    cancel();
    expect(segment).toMatchObject({ segment: 1, beginsAtMicroseconds: 10_000, monotonicOriginMicroseconds: 1100 });
    expect(seen).toEqual([]);
    await source.run();
    expect(seen).toEqual(['passed at 10000', 'passed too at 10000', 'later at 20000']);
    expect(source.now()).toBe(1100 + 10_000);
  });

  it('puts what was stamped before a new segment into the one that ran then', async () => {
    const source = createVirtualClock(1000);
    const clock = createTrialClock({
      source,
      bootId,
      wallNow,
      segment: 2,
      reason: 'restart',
      beginsAtMicroseconds: 50,
    });
    await source.run({ until: 1100 });
    clock.beginSegment('wake', 10_000);
    expect([900, 1000, 1099, 1100, 1150].map((stamp) => clock.toTrialTime(stamp))).toEqual([
      50, 50, 149, 10_000, 10_050,
    ]);
  });

  it('refuses to run backwards and to begin at a broken microsecond', () => {
    const source = createVirtualClock(0);
    const options = { source, bootId, wallNow, segment: 0, reason: 'start' } as const;
    const clock = createTrialClock({ ...options, beginsAtMicroseconds: 50 });
    expect(() => clock.beginSegment('wake', 49)).toThrow(RangeError);
    expect(() => createTrialClock({ ...options, beginsAtMicroseconds: 0.5 })).toThrow();
    expect(() => createTrialClock({ ...options, beginsAtMicroseconds: -1 })).toThrow();
  });
});
