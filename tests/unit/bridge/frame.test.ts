import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeFrame, encodeFrame, largestFrameBytes, largestFrameSamples } from '../../../src/bridge/frame.ts';
import type { SampleFrame } from '../../../src/bridge/frame.ts';

function frameOf(times: readonly number[], values: readonly number[]): SampleFrame {
  return {
    kind: 'live',
    stream: 3,
    number: 77,
    leftOut: 5,
    startMicroseconds: times[0] ?? 0,
    times: Float64Array.from(times),
    values: Float64Array.from(values),
  };
}

const anyFrame = fc
  .array(fc.tuple(fc.integer({ min: 0, max: 60_000_000 }), fc.double()), { maxLength: 200 })
  .chain((samples) =>
    fc.record({
      samples: fc.constant(samples.sort((first, second) => first[0] - second[0])),
      base: fc.integer({ min: 0, max: 2 ** 50 }),
      kind: fc.constantFrom('live', 'history', 'history-end', 'heartbeat'),
      stream: fc.integer({ min: 0, max: 65_535 }),
      number: fc.integer({ min: 0, max: 0xffffffff }),
      leftOut: fc.integer({ min: 0, max: 0xffffffff }),
    }),
  )
  .map(({ samples, base, ...rest }): SampleFrame => {
    const times = Float64Array.from(samples, ([offset]) => base + offset);
    return { ...rest, startMicroseconds: times[0] ?? base, times, values: Float64Array.from(samples, ([, v]) => v) };
  });

describe('the sample frame', () => {
  it('comes back as it was sent, whatever it holds', () => {
    fc.assert(
      fc.property(anyFrame, (frame) => {
        const bytes = encodeFrame(frame);
        expect(bytes.length).toBeLessThanOrEqual(largestFrameBytes);
        expect(decodeFrame(bytes)).toEqual(frame);
      }),
    );
  });

  it('is laid out as its table says', () => {
    const bytes = encodeFrame(frameOf([1_000, 51_000], [0.5, -2]));
    const view = new DataView(bytes.buffer);
    expect([bytes[0], bytes[1], view.getUint16(2, true), view.getUint32(4, true)]).toEqual([1, 1, 3, 77]);
    expect([view.getUint32(8, true), view.getFloat64(12, true), view.getUint32(20, true)]).toEqual([2, 1_000, 5]);
    expect([view.getUint32(24, true), view.getUint32(28, true)]).toEqual([0, 50_000]);
    expect([view.getFloat64(32, true), view.getFloat64(40, true), bytes.length]).toEqual([0.5, -2, 48]);
  });

  it('reads from the middle of a larger buffer', () => {
    const bytes = encodeFrame(frameOf([7, 9], [1, 2]));
    const larger = new Uint8Array(bytes.length + 13);
    larger.set(bytes, 5);
    expect(decodeFrame(larger.subarray(5, 5 + bytes.length))).toEqual(frameOf([7, 9], [1, 2]));
  });

  it('holds at most 64 kB', () => {
    const full = Array.from({ length: largestFrameSamples }, (_, index) => index);
    expect(encodeFrame(frameOf(full, full)).length).toBeLessThanOrEqual(largestFrameBytes);
    expect(() => encodeFrame(frameOf([...full, 9e6], [...full, 1]))).toThrow(RangeError);
  });

  it('refuses what it cannot say', () => {
    expect(() => encodeFrame(frameOf([1, 2], [1]))).toThrow('as many times as values');
    expect(() => encodeFrame({ ...frameOf([5], [1]), startMicroseconds: 6 })).toThrow('outside the span');
    expect(() => encodeFrame(frameOf([0, 0x1_0000_0000], [1, 2]))).toThrow('outside the span');
    expect(() => encodeFrame(frameOf([0, NaN], [1, 2]))).toThrow('outside the span');
  });

  it('takes no other bytes for a frame', () => {
    const bytes = encodeFrame(frameOf([1, 2, 3], [1, 2, 3]));
    for (let length = 0; length < bytes.length; length += 1) expect(decodeFrame(bytes.slice(0, length))).toBeNull();
    expect(decodeFrame(Uint8Array.of(...bytes, 0))).toBeNull();
    for (const [at, value] of [
      [0, 2],
      [1, 0],
      [1, 9],
      [8, 200],
      [11, 255],
    ] as const) {
      const spoiled = bytes.slice();
      spoiled[at] = value;
      expect(decodeFrame(spoiled)).toBeNull();
    }
  });
});
