import { describe, expect, it } from 'vitest';
import { createOutbox } from '../../../../src/host/rig/outbox.ts';

describe('outbox', () => {
  it('sends at once what is taken, and the rest in order when it can', () => {
    let room = 4;
    const sent: number[] = [];
    const outbox = createOutbox({
      send(bytes) {
        const taken = Math.min(room, bytes.length);
        room -= taken;
        sent.push(...bytes.subarray(0, taken));
        return taken;
      },
    });
    const buffer = Uint8Array.of(1, 2, 3);
    outbox.push(buffer);
    outbox.push(Uint8Array.of(4, 5, 6));
    buffer.fill(9);
    outbox.push(new Uint8Array(0));
    expect(sent).toEqual([1, 2, 3, 4]);
    expect(outbox.waitingBytes).toBe(2);
    room = 1;
    outbox.pump();
    room = 10;
    outbox.push(Uint8Array.of(7));
    expect(sent).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect(outbox.waitingBytes).toBe(0);
    expect(outbox.droppedBytes).toBe(0);
  });

  it('gives up the oldest chunks when nobody reads, and counts them', () => {
    let open = false;
    const sent: number[] = [];
    const outbox = createOutbox({
      limitBytes: 5,
      send(bytes) {
        if (!open) return 0;
        sent.push(...bytes);
        return bytes.length;
      },
    });
    for (let index = 1; index <= 6; index += 1) outbox.push(Uint8Array.of(index, index));
    expect(outbox.waitingBytes).toBe(4);
    expect(outbox.droppedBytes).toBe(8);
    open = true;
    outbox.pump();
    expect(sent).toEqual([5, 5, 6, 6]);
    open = false;
    outbox.push(new Uint8Array(100));
    expect(outbox.waitingBytes).toBe(0);
    expect(outbox.droppedBytes).toBe(108);
  });

  it('forgets without counting when the program has left', () => {
    const outbox = createOutbox({ send: () => 0 });
    outbox.push(Uint8Array.of(1, 2));
    outbox.clear();
    expect(outbox.waitingBytes).toBe(0);
    expect(outbox.droppedBytes).toBe(0);
  });
});
