import { closeSync, openSync } from 'node:fs';
import { afterEach, describe, expect, it } from 'vitest';
import { failReadsAfterHangUp } from '../../../../src/host/transport/hang-up.ts';

type Readable = (error: Error | null) => void;

/** A port as the serial library holds it, on a descriptor that answers every read with zero bytes. */
function goneAtOnce() {
  const waiting: Readable[] = [];
  return {
    fd: openSync('/dev/null', 'r') as number | null,
    waiting,
    poller: { once: (_event: 'readable', callback: Readable) => waiting.push(callback) },
    read: (): Promise<{ buffer: Buffer; bytesRead: number }> => Promise.reject(new Error('the library’s own read')),
  };
}

const open: number[] = [];
afterEach(() => {
  for (const descriptor of open.splice(0)) closeSync(descriptor);
});

describe('reading a port whose device is gone', () => {
  it('fails instead of trying again for ever', async () => {
    const port = goneAtOnce();
    open.push(port.fd as number);
    failReadsAfterHangUp(port);
    const read = port.read as unknown as (buffer: Buffer, offset: number, length: number) => Promise<unknown>;
    await expect(read(Buffer.alloc(10), 0, 10)).rejects.toThrow('the device is gone');
    expect(port.waiting).toHaveLength(0);
  });

  it('counts as withdrawn, not as lost, after the port was closed', async () => {
    const port = { ...goneAtOnce() };
    open.push(port.fd as number);
    port.fd = null;
    failReadsAfterHangUp(port);
    const read = port.read as unknown as (buffer: Buffer, offset: number, length: number) => Promise<unknown>;
    await expect(read(Buffer.alloc(10), 0, 10)).rejects.toMatchObject({ canceled: true });
  });

  it('leaves a port of another platform as it is', () => {
    const port = { read: () => 'untouched' };
    failReadsAfterHangUp(port);
    failReadsAfterHangUp(undefined);
    failReadsAfterHangUp(null);
    expect(port.read()).toBe('untouched');
  });
});
