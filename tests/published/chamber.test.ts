import { describe, expect, it } from 'vitest';
import { secondsUntilWithin, shareOfSteady } from '../../src/calibration/chamber-balance.ts';
import { oilMistLimits, timeWeightedExposure } from '../../src/calibration/exposure.ts';
import { uniformity } from '../../src/calibration/uniformity.ts';

describe('mass balance of a well-mixed chamber', () => {
  it('10 changes an hour show 0.6321206 of the steady level in 6 min, 6 changes 0.9502129 in 30 min (computed)', () => {
    expect(Math.abs(shareOfSteady(10, 360) - 0.6321206)).toBeLessThan(1e-6);
    expect(Math.abs(shareOfSteady(6, 1800) - 0.9502129)).toBeLessThan(1e-6);
  });

  it.each([
    [2, 138, 207],
    [6, 46, 69],
    [12, 23, 35],
    [20, 14, 21],
  ])('%i changes an hour purge 99 %% in %i, 99.9 %% in %i min (computed; table from memory)', (n, two, three) => {
    expect(Math.round(secondsUntilWithin(0.01, n) / 60)).toBe(two);
    expect(Math.round(secondsUntilWithin(0.001, n) / 60)).toBe(three);
  });
});

it('nine places with mean 20.02222, variation 2.62836 % and largest deviation 4.10655 % (computed)', () => {
  const values = [19.2, 20.1, 20.6, 19.8, 20.4, 19.9, 20, 20.8, 19.4];
  const found = uniformity(
    values.map((value, index) => ({ place: `p${index}`, xMetres: index, yMetres: 0, zMetres: 0, value })),
  );
  expect(Math.abs(found.mean - 20.02222)).toBeLessThan(1e-4);
  expect(Math.abs(found.variationPercent - 2.62836)).toBeLessThan(1e-4);
  expect(found.furthest.place).toBe('p0');
  expect(Math.abs(found.furthest.deviationPercent + 4.10655)).toBeLessThan(1e-4);
});

describe('exposure to oil mist', () => {
  it('limits are 5, 5, 10 and 2500 mg/m³ (seen: OSHA and NIOSH pages)', () => {
    expect(oilMistLimits.map(({ name, limit }) => [name, limit])).toEqual([
      ['PEL', 5],
      ['REL', 5],
      ['STEL', 10],
      ['IDLH', 2500],
    ]);
  });

  it('20 mg/m³ for 30 min is 1.25 mg/m³ over 8 h (computed)', () => {
    expect(timeWeightedExposure([{ concentration: 20, seconds: 1800 }], 28_800)).toBe(1.25);
  });
});
