import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createFrameReceiver } from '../../../../drivers/framing/silence-delimited.ts';
import { createManualClock } from '../../../contract/drivers/support.ts';

/** Frames of the test: `0xA0 | length`, content, and the sum of all before it in the last byte; 3 to 15 bytes. */
const sumOf = (bytes: readonly number[]): number => bytes.reduce((sum, byte) => (sum + byte) & 0xff, 0);
const frameOf = (content: readonly number[]): number[] => {
  const head = [0xa0 | (content.length + 2), ...content];
  return [...head, sumOf(head)];
};

function bench(longestFrame = 15) {
  const clock = createManualClock();
  const frames: { readonly bytes: readonly number[]; readonly at: number }[] = [];
  const aside: { readonly bytes: readonly number[]; readonly at: number }[] = [];
  const receiver = createFrameReceiver({
    timers: clock,
    silenceMicroseconds: 1_000,
    longestFrame,
    lengthAt: (bytes, from) => {
      const head = bytes[from] ?? 0;
      return (head & 0xf0) === 0xa0 && (head & 0x0f) >= 3 ? head & 0x0f : null;
    },
    isWhole: (bytes, from, to) => sumOf([...bytes.subarray(from, to - 1)]) === bytes[to - 1],
    onFrame: (frame, at) => frames.push({ bytes: [...frame], at }),
    onSetAside: (bytes, at) => aside.push({ bytes: [...bytes], at }),
  });
  const receive = (bytes: readonly number[], at: number): void => {
    receiver.receive(Uint8Array.from(bytes), at);
  };
  return { clock, frames, aside, receiver, receive };
}

describe('frames delimited by length and silence', () => {
  it('takes a frame when its last byte has come, whatever the chunks', () => {
    const frame = frameOf([1, 2, 3]);
    for (let cut = 0; cut <= frame.length; cut += 1) {
      const { frames, aside, clock, receive } = bench();
      receive(frame.slice(0, cut), 10);
      receive(frame.slice(cut), 20);
      expect(frames).toEqual([{ bytes: frame, at: cut === frame.length ? 10 : 20 }]);
      expect(aside).toEqual([]);
      expect(clock.timerCount).toBe(0);
    }
  });

  it('takes two frames of one chunk, and sets aside what is before a frame', () => {
    const { frames, aside, receive } = bench();
    receive([0, 255, ...frameOf([7]), ...frameOf([8, 9])], 5);
    expect(frames.map(({ bytes }) => bytes)).toEqual([frameOf([7]), frameOf([8, 9])]);
    expect(aside).toEqual([{ bytes: [0, 255], at: 5 }]);
  });

  it('sets aside what is not completed before the silence, and takes a whole frame out of it', () => {
    const { frames, aside, clock, receive } = bench();
    // 0xAF begins a frame of 15 bytes that never comes; a whole one stands behind it.
    receive([0xaf, ...frameOf([7])], 5);
    expect(frames).toEqual([]);
    clock.advance(999);
    expect(frames).toEqual([]);
    clock.advance(1);
    expect(frames).toEqual([{ bytes: frameOf([7]), at: 5 }]);
    expect(aside).toEqual([{ bytes: [0xaf], at: 5 }]);
    receive([0xa5, 1], 6);
    clock.advance(1_000);
    expect(aside.at(-1)).toEqual({ bytes: [0xa5, 1], at: 6 });
    expect(clock.timerCount).toBe(0);
  });

  it('counts the silence from the last bytes', () => {
    const { frames, clock, receive } = bench();
    const frame = frameOf([1, 2, 3, 4]);
    for (const byte of frame) {
      receive([byte], clock.now());
      clock.advance(900);
    }
    expect(frames).toHaveLength(1);
  });

  it('takes nothing after the end and leaves no timer', () => {
    const { frames, aside, clock, receiver, receive } = bench();
    receive([0xa5, 1], 6);
    receiver.end();
    receiver.end();
    receive(frameOf([7]), 7);
    expect(frames).toEqual([]);
    expect(aside).toEqual([{ bytes: [0xa5, 1], at: 6 }]);
    expect(clock.timerCount).toBe(0);
  });

  it('loses no byte, keeps no more than the longest frame, in 20 000 random chunks', () => {
    const chunk = fc.oneof(
      fc.array(fc.nat(255), { maxLength: 40 }),
      fc.array(fc.nat(255), { minLength: 1, maxLength: 13 }).map(frameOf),
      fc.constantFrom([0xa3], [0xaf], [0xa3, 1]),
    );
    fc.assert(
      fc.property(fc.array(fc.tuple(chunk, fc.boolean()), { minLength: 20, maxLength: 20 }), (chunks) => {
        const { frames, aside, clock, receiver, receive } = bench();
        const sent: number[] = [];
        for (const [bytes, pause] of chunks) {
          sent.push(...bytes);
          receive(bytes, clock.now());
          expect(receiver.pendingBytes).toBeLessThanOrEqual(15);
          if (pause) clock.advance(1_000);
        }
        receiver.end();
        const out = [...frames, ...aside].reduce((sum, { bytes }) => sum + bytes.length, 0);
        expect(out).toBe(sent.length);
        expect(clock.timerCount).toBe(0);
      }),
      { numRuns: 1_000 },
    );
  });
});
