import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { thin } from '../../../../src/host/samples/thin.ts';

const samples = (values: readonly number[]): { times: Float64Array; values: Float64Array } => ({
  times: Float64Array.from(values, (_, index) => index * 10),
  values: Float64Array.from(values),
});

describe('thinning', () => {
  it('leaves alone what is few enough', () => {
    const few = samples([1, 2, 3]);
    expect(thin(few, 3)).toBe(few);
  });

  it('keeps lowest and highest of each stretch, in their order', () => {
    const thinned = thin(samples([5, 1, 9, 3, 7, 8, 2, 4]), 4);
    expect([...thinned.values]).toEqual([1, 9, 8, 2]);
    expect([...thinned.times]).toEqual([10, 20, 50, 60]);
  });

  it('never gives too many, keeps the extremes and the order, whatever comes', () => {
    const value = fc.oneof({ weight: 8, arbitrary: fc.double({ noNaN: true, min: -9, max: 9 }) }, fc.constant(NaN));
    fc.assert(
      fc.property(
        fc.array(value, { minLength: 1, maxLength: 300 }),
        fc.integer({ min: 2, max: 50 }),
        (values, most) => {
          const thinned = thin(samples(values), most);
          expect(thinned.values.length).toBeLessThanOrEqual(most);
          const times = [...thinned.times];
          expect(times).toEqual([...new Set(times)].sort((one, other) => one - other));
          const finite = values.filter((each) => !Number.isNaN(each));
          const kept = [...thinned.values].filter((each) => !Number.isNaN(each));
          if (finite.length === 0) return;
          expect(Math.min(...kept)).toBe(Math.min(...finite));
          expect(Math.max(...kept)).toBe(Math.max(...finite));
        },
      ),
    );
  });
});
