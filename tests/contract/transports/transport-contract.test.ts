import { readdirSync } from 'node:fs';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Transport } from '../../../src/device/transport.ts';
import { monotonicNow } from '../../../src/host/clock/monotonic-now.ts';
import {
  eventually, inProcessPeer, pseudoTerminalPeer, tcpPeer, type TransportPeer,
} from '../../support/transport-peers.ts';

const kinds: [string, () => Promise<TransportPeer>][] = [
  ['in-process', inProcessPeer],
  ['tcp', tcpPeer],
  ['serial on a pseudo-terminal', pseudoTerminalPeer],
];

const everyByte = Uint8Array.from({ length: 256 }, (_, index) => index);

/** Open file descriptors of this process: sockets, ports, pipes. */
function descriptorCount(): number {
  return process.platform === 'linux' ? readdirSync('/proc/self/fd').length : process.getActiveResourcesInfo().length;
}

describe.each(kinds)('transport %s', (_name, makePeer) => {
  let peer: TransportPeer;
  const opened: Transport[] = [];
  const open = async (now: () => number = monotonicNow): Promise<Transport> => {
    const transport = await peer.open(now);
    opened.push(transport);
    return transport;
  };

  beforeEach(async () => {
    peer = await makePeer();
  });
  afterEach(async () => {
    for (const transport of opened.splice(0)) await transport.close();
    await peer.release();
  });

  it('carries every byte value both ways, in order', async () => {
    const transport = await open();
    const chunks: Uint8Array[] = [];
    transport.onBytes((bytes) => chunks.push(bytes));
    peer.send(everyByte);
    transport.write(everyByte.subarray(0, 100));
    transport.write(new Uint8Array(0));
    transport.write(everyByte.subarray(100));
    await eventually('bytes from the instrument', () => Buffer.concat(chunks).length >= 256);
    await eventually('bytes from the program', () => peer.received().length >= 256);
    expect(Buffer.concat(chunks)).toEqual(Buffer.from(everyByte));
    expect(peer.received()).toEqual(Buffer.from(everyByte));
  });

  it('lets the writer use its buffer again at once', async () => {
    const transport = await open();
    const buffer = Uint8Array.of(1, 2, 3);
    transport.write(buffer);
    buffer.fill(9);
    await eventually('bytes from the program', () => peer.received().length >= 3);
    expect([...peer.received()]).toEqual([1, 2, 3]);
  });

  it('stamps on arrival with the injected time, once a chunk, never backwards', async () => {
    let calls = 0;
    const transport = await open(() => {
      calls += 1;
      return 1000 + calls;
    });
    const stamps: number[] = [];
    let count = 0;
    transport.onBytes((bytes, at) => {
      stamps.push(at);
      count += bytes.length;
    });
    for (let index = 0; index < 20; index += 1) {
      peer.send(Uint8Array.of(index, 10));
      await new Promise((resolve) => setTimeout(resolve, 2));
    }
    await eventually('all chunks', () => count >= 40);
    expect(stamps).toEqual(stamps.map((_, index) => 1001 + index));
    expect(calls).toBe(stamps.length);
  });

  it('keeps what arrives before the listener is set, with its own stamps', async () => {
    let arrivals = 0;
    const transport = await open(() => {
      arrivals += 1;
      return monotonicNow();
    });
    peer.send(Uint8Array.of(1, 2, 3));
    await eventually('arrival', () => arrivals > 0);
    await new Promise((resolve) => setTimeout(resolve, 5));
    const setAt = monotonicNow();
    let inside = true;
    const seen: { bytes: number[]; at: number; inside: boolean }[] = [];
    transport.onBytes((bytes, at) => seen.push({ bytes: [...bytes], at, inside }));
    inside = false;
    await eventually('held bytes', () => seen.flatMap((chunk) => chunk.bytes).length >= 3);
    expect(seen.flatMap((chunk) => chunk.bytes)).toEqual([1, 2, 3]);
    for (const chunk of seen) {
      expect(chunk.at).toBeLessThan(setAt);
      expect(chunk.inside).toBe(false);
    }
  });

  it('reports a vanished device once, without being written to, and drops later writes', async () => {
    const transport = await open();
    const reasons: string[] = [];
    transport.onBytes(() => undefined);
    transport.onClose((reason) => reasons.push(reason));
    transport.write(Uint8Array.of(1));
    await eventually('connection in use', () => peer.received().length === 1);
    peer.vanish();
    await eventually('report of the loss', () => reasons.length > 0);
    transport.write(Uint8Array.of(2));
    await transport.close();
    await transport.close();
    await new Promise((resolve) => setTimeout(resolve, 20));
    expect(reasons).toHaveLength(1);
    expect(reasons[0]).not.toMatch(/by the program/);
    expect([...peer.received()]).toEqual([1]);
  });

  it('tells a listener that is set after the loss', async () => {
    const transport = await open();
    transport.write(Uint8Array.of(1));
    await eventually('connection in use', () => peer.received().length === 1);
    peer.vanish();
    await new Promise((resolve) => setTimeout(resolve, 100));
    const reasons: string[] = [];
    transport.onClose((reason) => reasons.push(reason));
    expect(reasons).toEqual([]);
    await eventually('report of the loss', () => reasons.length === 1);
  });

  it('reports its own close once, not inside the call, and can be closed twice at a time', async () => {
    const transport = await open();
    const reasons: string[] = [];
    transport.onClose((reason) => reasons.push(reason));
    const both = [transport.close(), transport.close()];
    expect(reasons).toEqual([]);
    await Promise.all(both);
    expect(reasons).toEqual(['closed by the program']);
  });

  it('can be closed from inside its listener and delivers nothing afterwards', async () => {
    const transport = await open();
    let after = 0;
    let closed = false;
    let closing: Promise<void> | undefined;
    transport.onBytes(() => {
      if (closed) after += 1;
      closed = true;
      closing = transport.close().then(() => {
        closed = true;
      });
    });
    peer.send(Uint8Array.of(1));
    await eventually('first chunk', () => closing !== undefined);
    await closing;
    peer.send(Uint8Array.of(2));
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(after).toBe(0);
  });

  it('leaves nothing open after a hundred openings', async () => {
    const cycle = async (): Promise<void> => {
      const transport = await peer.open(monotonicNow);
      transport.onBytes(() => undefined);
      transport.write(Uint8Array.of(7));
      await transport.close();
    };
    // The first opening loads what stays loaded.
    await cycle();
    await new Promise((resolve) => setTimeout(resolve, 30));
    const before = { descriptors: descriptorCount(), resources: process.getActiveResourcesInfo().length };
    for (let index = 0; index < 100; index += 1) await cycle();
    await eventually('descriptors given back', () => descriptorCount() <= before.descriptors);
    await eventually('resources given back', () => process.getActiveResourcesInfo().length <= before.resources);
  });

  it('names itself', async () => {
    expect((await open()).label).toMatch(/^(in-process .+|tcp 127\.0\.0\.1:\d+|serial \/dev\/\S+ at 115200)$/);
  });
});
