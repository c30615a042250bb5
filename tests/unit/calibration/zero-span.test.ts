import { describe, expect, it } from 'vitest';
import { concentration, interpolate, valueBetween } from '../../../src/calibration/zero-span.ts';

const at = (atMicroseconds: number, value: number) => ({ atMicroseconds, value });

describe('concentration', () => {
  it('keeps negative values', () => {
    expect(concentration(0.9, 1, 11, 100)).toBeCloseTo(-1, 12);
  });

  it('works for a photometer whose signal falls with concentration', () => {
    expect(concentration(9, 10, 0, 100)).toBeCloseTo(10, 12);
  });

  it('refuses a photometer without sensitivity and values that are no numbers', () => {
    expect(() => concentration(1, 2, 2, 100)).toThrow(RangeError);
    expect(() => concentration(Number.NaN, 0, 1, 100)).toThrow(RangeError);
    expect(() => concentration(1, 0, Number.POSITIVE_INFINITY, 100)).toThrow(RangeError);
  });
});

describe('interpolate', () => {
  it('is the straight line, and exact at both anchors', () => {
    expect(interpolate(at(0, 2), at(10, 4), 2.5)).toBe(2.5);
    expect(interpolate(at(0, 2), at(10, 4), 0)).toBe(2);
    expect(interpolate(at(0, 2), at(10, 4), 10)).toBe(4);
  });

  it('accepts two anchors of one moment', () => {
    expect(interpolate(at(5, 2), at(5, 4), 5)).toBe(2);
  });

  it('never extrapolates', () => {
    expect(() => interpolate(at(0, 2), at(10, 4), -1)).toThrow(RangeError);
    expect(() => interpolate(at(0, 2), at(10, 4), 11)).toThrow(RangeError);
    expect(() => interpolate(at(0, 2), at(10, 4), Number.NaN)).toThrow(RangeError);
  });
});

describe('valueBetween', () => {
  const anchors = [at(100, 5), at(0, 1), at(50, 2)];

  it('takes the nearest anchors around, whatever their order', () => {
    expect(valueBetween(anchors, 75, 'linear')).toMatchObject({ value: 3.5, weightAfter: 0.5, bracketed: true });
    expect(valueBetween(anchors, 60, 'linear')?.value).toBeCloseTo(2.6, 12);
    expect(valueBetween(anchors, 10, 'linear')).toMatchObject({ before: at(0, 1), after: at(50, 2) });
  });

  it('ignores the position when the method wants the mean of before and after', () => {
    expect(valueBetween(anchors, 60, 'before-and-after-mean')).toMatchObject({ value: 3.5, weightAfter: 0.5 });
  });

  it('holds a one-sided value and says so', () => {
    expect(valueBetween(anchors, 200, 'linear')).toMatchObject({ value: 5, after: null, bracketed: false });
    expect(valueBetween(anchors, -1, 'linear')).toMatchObject({ value: 1, before: null, bracketed: false });
  });

  it('has nothing to say without anchors', () => {
    expect(valueBetween([], 0, 'linear')).toBeNull();
  });
});
