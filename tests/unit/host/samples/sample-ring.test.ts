import { describe, expect, it } from 'vitest';
import { createSampleRing } from '../../../../src/host/samples/sample-ring.ts';

describe('the newest samples of a stream', () => {
  it('are found by number and by time, across blocks', () => {
    const ring = createSampleRing(1e12);
    expect(ring).toMatchObject({ total: 0, first: 0, oldestMicroseconds: null, newest: null });
    for (let index = 0; index < 3000; index += 1) ring.push(index * 100, index);
    expect(ring).toMatchObject({ total: 3000, first: 0, oldestMicroseconds: 0 });
    expect(ring.newest).toEqual({ atMicroseconds: 299_900, value: 2999 });
    expect([...ring.numbered(1022, 1027).values]).toEqual([1022, 1023, 1024, 1025, 1026]);
    expect([...ring.between(102_350, 102_600).values]).toEqual([1024, 1025]);
    expect(ring.numberAt(102_400)).toBe(1024);
    expect(ring.numberAt(1e9)).toBe(3000);
    expect(ring.between(1e9, 2e9).values.length).toBe(0);
  });

  it('are let go by age, but never the last block', () => {
    const ring = createSampleRing(100_000);
    for (let index = 0; index < 5000; index += 1) ring.push(index * 100, index);
    expect(ring.total).toBe(5000);
    expect(ring.first).toBe(3072);
    expect(ring.oldestMicroseconds).toBe(307_200);
    // What is gone is left out, what is there keeps its number.
    expect(ring.numbered(0, 3074).values).toEqual(Float64Array.of(3072, 3073));
    ring.push(1e12, 1);
    expect(ring.total - ring.first).toBeLessThanOrEqual(1024);
  });

  it('are let go by number', () => {
    const ring = createSampleRing(Number.POSITIVE_INFINITY, 2048);
    for (let index = 0; index < 10_000; index += 1) ring.push(index, index);
    expect(ring.total - ring.first).toBeLessThanOrEqual(2048);
  });

  it('never go back in time', () => {
    const ring = createSampleRing(1e9);
    ring.push(100, 1);
    ring.push(90, 2);
    expect([...ring.numbered(0, 2).times]).toEqual([100, 100]);
  });
});
