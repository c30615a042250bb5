import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { judgeSteadiness, referenceSettlingSeconds, steadinessLimits } from '../../../src/calibration/steadiness.ts';
import type { ReferenceReading } from '../../../src/calibration/steadiness.ts';

const second = 1_000_000;
const limits = { windowMicroseconds: 20 * second, rangePercent: 10, leastMean: 6, missingShare: 0.1 };

/** Ten readings a second from 0 to 60 s. */
function readings(valueAt: (seconds: number) => number): ReferenceReading[] {
  return Array.from({ length: 601 }, (_, index) => ({ atMicroseconds: index * 100_000, value: valueAt(index / 10) }));
}

describe('steadiness of the challenge', () => {
  it('is steady when range over mean is within the limit, to the limit', () => {
    const wave = readings((seconds) => 12 + (Math.round(seconds * 10) % 2 === 0 ? 0.6 : -0.6));
    const verdict = judgeSteadiness(wave, 60 * second, 0, limits);
    expect(verdict.steady).toBe(true);
    expect(verdict.rangePercent).toBeCloseTo(10, 2);
    expect(verdict.meanReading).toBeCloseTo(12, 2);
    const { rangePercent } = verdict;
    const at = (limit: number): boolean =>
      judgeSteadiness(wave, 60 * second, 0, { ...limits, rangePercent: limit }).steady;
    expect(at(rangePercent ?? 0)).toBe(true);
    expect(at((rangePercent ?? 0) - 1e-9)).toBe(false);
  });

  it('looks at the last window only, and includes both its ends', () => {
    const step = readings((seconds) => (seconds < 40 ? 1 : 12));
    expect(judgeSteadiness(step, 60 * second, 0, limits)).toEqual({ steady: true, rangePercent: 0, meanReading: 12 });
    expect(judgeSteadiness(step, 59 * second, 0, limits).steady).toBe(false);
  });

  it('waits until the whole window lies after settling', () => {
    const flat = readings(() => 12);
    expect(judgeSteadiness(flat, 60 * second, 40 * second, limits).steady).toBe(true);
    expect(judgeSteadiness(flat, 60 * second, 40 * second + 1, limits)).toMatchObject({
      steady: false,
      rangePercent: 0,
    });
    expect(judgeSteadiness(flat, 60 * second, Number.POSITIVE_INFINITY, limits).meanReading).toBeNull();
  });

  it('is never steady without a challenge: too low, nothing, or below zero', () => {
    expect(
      judgeSteadiness(
        readings(() => 5.9),
        60 * second,
        0,
        limits,
      ),
    ).toMatchObject({ steady: false, rangePercent: 0 });
    expect(
      judgeSteadiness(
        readings(() => 0),
        60 * second,
        0,
        limits,
      ),
    ).toMatchObject({ steady: false, rangePercent: null });
    expect(
      judgeSteadiness(
        readings(() => -1),
        60 * second,
        0,
        limits,
      ),
    ).toMatchObject({ steady: false, meanReading: -1 });
  });

  it('is never steady on too little knowledge: none, one, a gap anywhere, or values that are no number', () => {
    const nothing = { steady: false, rangePercent: null, meanReading: null };
    expect(judgeSteadiness([], 60 * second, 0, limits)).toEqual(nothing);
    expect(
      judgeSteadiness(
        readings(() => Number.NaN),
        60 * second,
        0,
        limits,
      ),
    ).toEqual(nothing);
    const one = [{ atMicroseconds: 50 * second, value: 12 }];
    expect(judgeSteadiness(one, 60 * second, 0, limits)).toEqual({
      steady: false,
      rangePercent: null,
      meanReading: 12,
    });
    const flat = readings(() => 12);
    for (const [from, to] of [
      [39, 43],
      [48, 51],
      [57, 61],
    ] as const) {
      const gap = flat.filter((each) => each.atMicroseconds < from * second || each.atMicroseconds > to * second);
      expect(judgeSteadiness(gap, 60 * second, 0, limits).steady).toBe(false);
    }
  });

  it('takes its limits from series and rig', () => {
    expect(steadinessLimits(demo.series, demo.rig)).toEqual({
      windowMicroseconds: 20 * second,
      rangePercent: 10,
      leastMean: 6,
      missingShare: 0.1,
    });
    // 0.5 s common line, 0.1 s instrument, 7 × 1 s; without bypass 0.8 s of the reference line as well.
    expect(referenceSettlingSeconds(demo.rig)).toBeCloseTo(7.6, 9);
    expect(referenceSettlingSeconds({ ...demo.rig, bypass: false })).toBeCloseTo(8.4, 9);
  });
});
