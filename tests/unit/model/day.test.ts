import { describe, expect, it } from 'vitest';
import { dayNumber } from '../../../src/model/day.ts';

describe('the number of a day', () => {
  it('is that of the clock of the machine, over leap years and the years that are none', () => {
    const days = ['1970-01-01', '1999-12-31', '2000-02-29', '2000-03-01', '2026-11-28', '2028-02-29', '2100-03-01'];
    expect(days.map(dayNumber)).toEqual(days.map((day) => Date.parse(day) / 86_400_000));
    for (let number = 10_000; number < 60_000; number += 37) {
      expect(dayNumber(new Date(number * 86_400_000).toISOString().slice(0, 10))).toBe(number);
    }
  });
});
