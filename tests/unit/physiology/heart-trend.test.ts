import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { heartTrend, heartTrendPerMinute } from '../../../src/physiology/heart-trend.ts';

const minute = (rateAt: (second: number) => number, count = 60, apart = 1) => ({
  seconds: Array.from({ length: count }, (_, index) => index * apart),
  rates: Array.from({ length: count }, (_, index) => rateAt(index * apart)),
});

describe('the trend of a heart rate', () => {
  it('is the slope of a straight line, whatever up to a quarter of the readings are', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -40, max: 40 }),
        fc.uniqueArray(fc.integer({ min: 0, max: 59 }), { maxLength: 8 }),
        fc.integer({ min: 30, max: 220 }),
        (perMinute, wild, value) => {
          const at = minute((second) => (wild.includes(second) ? value : 120 + (perMinute * second) / 60));
          const found = heartTrendPerMinute(at) ?? Number.NaN;
          // A wild reading moves the middle slope no further than to a neighbour of the same line.
          expect(Math.abs(found - perMinute)).toBeLessThan(1e-6);
        },
      ),
      { numRuns: 50 },
    );
  });

  it('is said in whole beats, and small moves of the breath are none', () => {
    expect(heartTrend(minute((second) => Math.round(100 + (4 * second) / 60)))?.going).toBe('up');
    expect(heartTrend(minute((second) => 100 + (4 * second) / 60))).toEqual({ going: 'up', by: 4 });
    expect(heartTrend(minute((second) => 150 - (22 * second) / 60))).toEqual({ going: 'down', by: 22 });
    const breath = minute((second) => Math.round(138 + 2.5 * Math.sin((2 * Math.PI * second) / 4.2)));
    expect(heartTrend(breath)).toEqual({ going: 'steady', by: 0 });
  });

  it('is not told from too few readings or too short a time', () => {
    expect(heartTrend(minute(() => 120, 19, 3))).toBeNull();
    expect(heartTrend(minute(() => 120, 20, 3))).not.toBeNull();
    expect(heartTrend(minute(() => 120, 80, 0.5))).toBeNull();
    expect(heartTrend({ seconds: [], rates: [] })).toBeNull();
  });
});
