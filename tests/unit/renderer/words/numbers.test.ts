import { describe, expect, it } from 'vitest';
import { limitNumber, percentNumber } from '../../../../renderer/words/numbers.ts';

describe('a limit', () => {
  it('carries no figures that only fill up, and loses none that count', () => {
    expect(limitNumber(0.5, 4)).toBe('0.5');
    expect(limitNumber(0.125, 4)).toBe('0.125');
    expect(limitNumber(0.006, 2)).toBe('0.006');
    expect(limitNumber(0.0603, 2)).toBe('0.06');
    expect(limitNumber(10, 2)).toBe('10');
    expect(limitNumber(100, 4)).toBe('100');
    expect(limitNumber(0, 2)).toBe('0');
  });

  it('differs in that from a measured value, which always has two', () => {
    expect(percentNumber(0.5)).toBe('0.50');
  });
});
