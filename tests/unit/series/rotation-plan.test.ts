import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planRotation, residualImbalance } from '../../../src/series/rotation-plan.ts';

const rotated = { kind: 'rotated' as const, forbidden: [], repeated: false };

describe('residual imbalance', () => {
  it('is the share of counts that would have to move, by hand', () => {
    expect(residualImbalance([2, 2, 2])).toBe(0);
    // One of four would have to move: 4 = 3 + 1 over two cells.
    expect(residualImbalance([3, 1])).toBe(0.25);
    // All in one of four cells: three of four parts would have to move.
    expect(residualImbalance([8, 0, 0, 0])).toBe(0.75);
    expect(residualImbalance([])).toBe(0);
  });

  it('is 0 for equal counts only, below 1, and the same in any order and at any scale', () => {
    const counts = fc.array(fc.nat(50), { minLength: 1, maxLength: 30 });
    fc.assert(
      fc.property(counts, fc.integer({ min: 1, max: 9 }), (cells, scale) => {
        const share = residualImbalance(cells);
        expect(share).toBeGreaterThanOrEqual(0);
        expect(share).toBeLessThan(1);
        expect(share < 1e-12).toBe(new Set(cells).size === 1);
        expect(residualImbalance(cells.toReversed())).toBeCloseTo(share, 12);
        expect(residualImbalance(cells.map((cell) => cell * scale))).toBeCloseTo(share, 12);
      }),
    );
  });
});

describe('a rotation over subjects', () => {
  // Williams 1949: an even number of treatments is balanced for neighbours in one square, an odd one in two.
  it.each([4, 5, 6, 7])('balances %i probes for positions and neighbours in a whole design', (t) => {
    const plan = planRotation({ ...rotated, probeCount: t, exerciseCount: 1 }, t % 2 === 0 ? t : 2 * t);
    expect(plan).toMatchObject({ positions: 0, neighbours: 0 });
  });

  it('is balanced with every subject where exercises are a multiple of probes, forbidden neighbours or not', () => {
    for (const forbidden of [[], [[4, 0]]] as const) {
      const plan = planRotation({ ...rotated, probeCount: 5, exerciseCount: 10, forbidden }, 3);
      expect(plan?.positions).toBe(0);
      expect(plan?.counts.flat()).toEqual(new Array(25).fill(6));
    }
  });

  it('says what is left of an order that never changes: four fifths of five probes', () => {
    const plan = planRotation({ ...rotated, kind: 'fixed', probeCount: 5, exerciseCount: 10 }, 6);
    expect(plan?.positions).toBeCloseTo(0.8);
  });

  it('never leaves positions more uneven than beginning with the same row each time, and is the same each time', () => {
    const pair = fc.tuple(fc.nat(5), fc.nat(5));
    fc.assert(
      fc.property(
        ...[fc.integer({ min: 2, max: 6 }), fc.integer({ min: 1, max: 8 }), fc.integer({ min: 1, max: 8 })],
        fc.array(pair, { maxLength: 3 }),
        (probeCount, exerciseCount, subjects, pairs) => {
          const forbidden = pairs.filter(([one, other]) => one !== other && Math.max(one, other) < probeCount);
          const request = { ...rotated, probeCount, exerciseCount, forbidden };
          const plan = planRotation(request, subjects);
          if (plan === null) return;
          const alone = planRotation(request, 1);
          expect(plan.offsets).toHaveLength(subjects);
          expect(plan.positions).toBeLessThanOrEqual((alone?.positions ?? 0) + 1e-12);
          expect(plan.counts.flat().reduce((sum, one) => sum + one, 0)).toBe(probeCount * exerciseCount * subjects);
          expect(planRotation(request, subjects)).toEqual(plan);
        },
      ),
      { numRuns: 150 },
    );
  });
});
