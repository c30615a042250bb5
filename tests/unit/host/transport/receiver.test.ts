import { describe, expect, it } from 'vitest';
import { createReceiver } from '../../../../src/host/transport/receiver.ts';

describe('receiver', () => {
  it('keeps the order when bytes arrive between setting the listener and the hand-over', async () => {
    const receiver = createReceiver();
    const seen: number[] = [];
    receiver.deliver(Uint8Array.of(1), 1);
    receiver.onBytes((bytes) => seen.push(bytes[0] as number));
    receiver.deliver(Uint8Array.of(2), 2);
    expect(seen).toEqual([]);
    await Promise.resolve();
    receiver.deliver(Uint8Array.of(3), 3);
    expect(seen).toEqual([1, 2, 3]);
  });

  it('hands over what was held before it tells the end', async () => {
    const receiver = createReceiver();
    const seen: string[] = [];
    receiver.deliver(Uint8Array.of(1), 1);
    receiver.onBytes((bytes) => seen.push(String(bytes[0])));
    receiver.onClose((reason) => seen.push(reason));
    receiver.end('gone');
    receiver.end('gone again');
    receiver.deliver(Uint8Array.of(2), 2);
    await Promise.resolve();
    await Promise.resolve();
    expect(seen).toEqual(['1', 'gone']);
    expect(receiver.ended).toBe(true);
  });

  it('says when more is held than anyone will ever listen to', () => {
    const receiver = createReceiver();
    expect(receiver.deliver(new Uint8Array(1_048_576), 1)).toBe(true);
    expect(receiver.deliver(Uint8Array.of(1), 2)).toBe(false);
  });
});
