import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { positionBalance, rotatePorts } from '../../../src/series/rotation.ts';
import type { RotationRequest } from '../../../src/series/rotation.ts';

const request = (changes: Partial<RotationRequest>): RotationRequest => ({
  probeCount: 5,
  exerciseCount: 10,
  kind: 'rotated',
  offset: 0,
  forbidden: [],
  repeated: false,
  ...changes,
});

describe('port rotation', () => {
  it('uses Williams squares where nothing is forbidden: two in each position, each pair of neighbours twice', () => {
    const rotation = rotatePorts(request({}));
    expect(rotation?.rule).toBe('williams');
    expect(rotation?.balance.counts.flat()).toEqual(new Array(25).fill(2));
    const pairs = new Map<string, number>();
    for (const order of rotation?.orders ?? []) {
      for (let index = 1; index < order.length; index += 1) {
        const pair = `${order[index - 1]}${order[index]}`;
        pairs.set(pair, (pairs.get(pair) ?? 0) + 1);
      }
    }
    expect([...pairs.values()]).toEqual(new Array(20).fill(2));
  });

  it('keeps the highest from standing before the lowest, balanced all the same, for every subject', () => {
    for (let offset = 0; offset < 23; offset += 1) {
      const rotation = rotatePorts(request({ forbidden: [[4, 0]], repeated: true, offset }));
      expect(rotation?.rule).toBe('cyclic');
      expect(rotation?.balance.largestDifference).toBe(0);
      for (const order of rotation?.orders ?? []) expect([...order, ...order].join('')).not.toContain('40');
    }
  });

  it('varies the neighbours from one set of exercises to the next', () => {
    const orders = rotatePorts(request({ forbidden: [[4, 0]] }))?.orders ?? [];
    const arcs = (rows: readonly (readonly number[])[]): Set<string> =>
      new Set(rows.flatMap((row) => row.map((probe, index) => `${probe}${row[(index + 1) % row.length]}`)));
    const first = arcs(orders.slice(0, 5));
    expect([...arcs(orders.slice(5))].filter((arc) => first.has(arc))).toEqual([]);
  });

  it('begins another subject with another row', () => {
    const first = [0, 1, 2, 3, 4].map((offset) =>
      rotatePorts(request({ offset, forbidden: [[4, 0]] }))?.orders[0]?.join(''),
    );
    expect(new Set(first).size).toBe(5);
  });

  it('gives every exercise the same first legal order when fixed', () => {
    const rotation = rotatePorts(request({ kind: 'fixed', exerciseCount: 3, forbidden: [[1, 2]] }));
    expect(rotation?.orders).toEqual([
      [0, 1, 3, 2, 4],
      [0, 1, 3, 2, 4],
      [0, 1, 3, 2, 4],
    ]);
    expect(rotation?.balance.largestDifference).toBe(3);
  });

  it('finds legal orders where no ring exists, and says how uneven they are', () => {
    // Nothing may follow probe 0: it always stands last.
    const rotation = rotatePorts(
      request({
        probeCount: 3,
        exerciseCount: 4,
        forbidden: [
          [0, 1],
          [0, 2],
        ],
      }),
    );
    expect(rotation?.rule).toBe('searched');
    expect(rotation?.orders).toEqual([
      [1, 2, 0],
      [2, 1, 0],
      [1, 2, 0],
      [2, 1, 0],
    ]);
    expect(rotation?.balance.counts[0]).toEqual([0, 0, 4]);
    expect(rotation?.balance.largestDifference).toBe(4);
  });

  it('has no answer when every order is forbidden, or a repeated pass cannot be joined', () => {
    expect(
      rotatePorts(
        request({
          probeCount: 2,
          forbidden: [
            [0, 1],
            [1, 0],
          ],
        }),
      ),
    ).toBeNull();
    expect(rotatePorts(request({ probeCount: 2, forbidden: [[1, 0]], repeated: true }))).toBeNull();
    expect(rotatePorts(request({ probeCount: 2, forbidden: [[1, 0]] }))?.orders[0]).toEqual([0, 1]);
    expect(rotatePorts(request({ probeCount: 1, forbidden: [[0, 0]], repeated: true }))).toBeNull();
    expect(rotatePorts(request({ probeCount: 1, forbidden: [[0, 0]] }))?.orders[9]).toEqual([0]);
  });

  it('answers in time for a large rig', () => {
    const rotation = rotatePorts(
      request({
        probeCount: 30,
        exerciseCount: 60,
        forbidden: [
          [29, 0],
          [3, 4],
          [7, 1],
        ],
      }),
    );
    expect(rotation?.balance.largestDifference).toBe(0);
  });

  it('holds for any constraints: legal, whole, deterministic, and balanced to one wherever a ring was found', () => {
    const pair = fc.tuple(fc.nat({ max: 5 }), fc.nat({ max: 5 }));
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 6 }),
        fc.integer({ min: 1, max: 20 }),
        fc.nat({ max: 40 }),
        fc.array(pair, { maxLength: 8 }),
        fc.boolean(),
        (probeCount, exerciseCount, offset, pairs, repeated) => {
          const forbidden = pairs.filter(([before, after]) => before < probeCount && after < probeCount);
          const asked = request({ probeCount, exerciseCount, offset, forbidden, repeated });
          const rotation = rotatePorts(asked);
          if (rotation === null) return forbidden.length > 0;
          expect(rotatePorts(asked)).toEqual(rotation);
          expect(rotation.orders).toHaveLength(exerciseCount);
          for (const order of rotation.orders) {
            expect(order.toSorted((a, b) => a - b)).toEqual(Array.from({ length: probeCount }, (_, index) => index));
            const seen = repeated ? [...order, ...order] : order;
            for (let index = 1; index < seen.length; index += 1) {
              expect(forbidden.some(([before, after]) => before === seen[index - 1] && after === seen[index])).toBe(
                false,
              );
            }
          }
          if (rotation.rule !== 'searched') expect(rotation.balance.largestDifference).toBeLessThanOrEqual(1);
          return true;
        },
      ),
      { numRuns: 300, seed: 11 },
    );
  });

  it('counts positions', () => {
    expect(
      positionBalance(2, [
        [0, 1],
        [0, 1],
        [1, 0],
      ]),
    ).toEqual({
      counts: [
        [2, 1],
        [1, 2],
      ],
      largestDifference: 1,
    });
    expect(positionBalance(2, []).largestDifference).toBe(0);
  });
});
