import { describe, expect, it } from 'vitest';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';
import { checkLimits, checkReading, judgeCheck } from '../../../src/calibration/rig-check.ts';

const readings = (mean: number, count = 20): number[] =>
  Array.from({ length: count }, (_, index) => mean + (index % 2 === 0 ? 0.001 : -0.001));

describe('a check of zero or span', () => {
  it('has limits in shares of the nominal challenge, and never above saturation', () => {
    expect(checkLimits('zero', demo.rig)).toMatchObject({ lowLimit: -0.12, highLimit: 0.12 });
    const span = checkLimits('span', demo.rig);
    expect(span.lowLimit).toBeCloseTo(9.6, 9);
    expect(span.highLimit).toBeCloseTo(14.4, 9);
    expect(checkLimits('span', { ...demo.rig, saturation: 13 }).highLimit).toBe(13);
  });

  it('is a mean with its deviation, of numbers only', () => {
    expect(checkReading([])).toBeNull();
    expect(checkReading([NaN])).toBeNull();
    expect(checkReading([1, NaN, 3])).toEqual({ meanReading: 2, deviationReading: Math.SQRT2, readings: 2 });
  });

  it.each([
    [0.119, true],
    [-0.119, true],
    [0.121, false],
    [-0.121, false],
  ])('of zero at %d passes: %s', (mean, passed) => {
    const reading = checkReading(readings(mean));
    if (reading === null) throw new Error('no reading');
    expect(judgeCheck(reading, checkLimits('zero', demo.rig)).passed).toBe(passed);
  });

  it('fails on too few readings, and on readings that do not move', () => {
    const limits = checkLimits('zero', demo.rig);
    const few = checkReading(readings(0, 5));
    const flat = checkReading(Array.from({ length: 50 }, () => 0.01));
    if (few === null || flat === null) throw new Error('no reading');
    expect(judgeCheck(few, limits)).toMatchObject({ passed: false, detail: expect.stringContaining('5') as string });
    expect(judgeCheck(flat, limits)).toMatchObject({
      passed: false,
      detail: expect.stringContaining('move') as string,
    });
  });
});
