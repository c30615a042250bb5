import { describe, expect, it } from 'vitest';
import { createGuardFrameReader, encodeGuardFrame } from '../../../../src/safety/guard/frame.ts';
import type { GuardFrame } from '../../../../src/safety/guard/frame.ts';

const said: readonly GuardFrame[] = [
  { frame: 'message', message: { say: 'open', label: 'Prüfstand ≥ 1 ☂ 😀' } },
  { frame: 'beat', atMicroseconds: 1_234_567_890_123 },
  { frame: 'bytes', line: 3, atMicroseconds: 1_234_567_890_123, bytes: new Uint8Array([0, 255, 10]) },
  { frame: 'bytes', line: 0, atMicroseconds: 0, bytes: new Uint8Array(0) },
];

describe('frames between host and guard', () => {
  it('come out as they went in, wherever the stream is torn', () => {
    const all = Buffer.concat(said.map(encodeGuardFrame));
    for (const step of [1, 2, 5, 7, all.length]) {
      const read = createGuardFrameReader();
      const heard: GuardFrame[] = [];
      for (let at = 0; at < all.length; at += step) heard.push(...(read(all.subarray(at, at + step)) ?? []));
      expect(heard).toEqual(said);
    }
  });

  it.each([
    ['a length of nothing', [0, 0, 0, 0]],
    ['a length beyond all reason', [255, 255, 255, 255]],
    ['a kind that there is not', [1, 0, 0, 0, 9]],
    ['a message that is no JSON', [2, 0, 0, 0, 0, 123]],
    ['bytes without their head', [3, 0, 0, 0, 2, 0, 0]],
    ['a beat with something in it', [2, 0, 0, 0, 1, 1]],
  ])('end the understanding for good at %s', (_name, bytes) => {
    const read = createGuardFrameReader();
    expect(read(new Uint8Array(bytes))).toBeNull();
    expect(read(encodeGuardFrame({ frame: 'beat', atMicroseconds: 0 }))).toBeNull();
  });
});
