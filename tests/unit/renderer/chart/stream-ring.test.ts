import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createStreamRing, type StreamRing } from '../../../../renderer/chart/stream-ring.ts';

function held(ring: StreamRing): [number, number][] {
  return Array.from({ length: ring.length }, (_, index) => [ring.timeAt(index), ring.valueAt(index)]);
}

function add(ring: StreamRing, times: readonly number[]): void {
  ring.add(
    Float64Array.from(times),
    Float64Array.from(times, (time) => time / 2),
  );
}

describe('a ring of readings', () => {
  it('holds nothing at first', () => {
    const ring = createStreamRing(4);
    expect([ring.length, ring.newestMicroseconds, ring.newestValue, ring.indexFrom(0)]).toEqual([0, null, null, 0]);
  });

  it('lets the oldest give way', () => {
    const ring = createStreamRing(4);
    add(ring, [1, 2, 3]);
    add(ring, [4, 5, 6]);
    expect(held(ring)).toEqual([3, 4, 5, 6].map((time) => [time, time / 2]));
    add(ring, [7, 8, 9, 10, 11, 12]);
    expect(held(ring).map(([time]) => time)).toEqual([9, 10, 11, 12]);
  });

  it('takes in what was missing, each time once', () => {
    const ring = createStreamRing(100);
    add(ring, [10, 20, 50, 60]);
    add(ring, [5, 20, 30, 40, 50]);
    expect(held(ring).map(([time]) => time)).toEqual([5, 10, 20, 30, 40, 50, 60]);
  });

  it('says with its revision that something has changed', () => {
    const ring = createStreamRing(4);
    const before = ring.revision;
    add(ring, []);
    expect(ring.revision).toBe(before);
    add(ring, [1]);
    const after = ring.revision;
    expect(after).toBeGreaterThan(before);
    ring.clear();
    expect(ring.revision).toBeGreaterThan(after);
    expect(ring.length).toBe(0);
  });

  it('holds the newest of whatever came in whatever pieces, in order', () => {
    const piece = fc
      .uniqueArray(fc.integer({ min: 0, max: 300 }), { maxLength: 30 })
      .map((times) => times.sort((a, b) => a - b));
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 12 }), (pieces) => {
        const ring = createStreamRing(1000);
        for (const times of pieces) add(ring, times);
        const all = [...new Set(pieces.flat())].sort((a, b) => a - b);
        expect(held(ring)).toEqual(all.map((time) => [time, time / 2]));
        expect(ring.newestMicroseconds).toBe(all.at(-1) ?? null);
        for (const time of [0, 77, 150, 301]) expect(ring.indexFrom(time)).toBe(all.filter((one) => one < time).length);
      }),
    );
  });

  it('never holds more than its capacity, whatever comes', () => {
    const piece = fc
      .uniqueArray(fc.integer({ min: 0, max: 300 }), { maxLength: 30 })
      .map((times) => times.sort((a, b) => a - b));
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 12 }), fc.integer({ min: 1, max: 20 }), (pieces, capacity) => {
        const ring = createStreamRing(capacity);
        let newest = -1;
        for (const times of pieces) {
          add(ring, times);
          newest = Math.max(newest, ...times);
          expect(ring.length).toBeLessThanOrEqual(capacity);
          expect(ring.newestMicroseconds ?? -1).toBe(newest);
          const order = held(ring).map(([time]) => time);
          expect(order).toEqual([...order].sort((a, b) => a - b));
        }
      }),
    );
  });
});
