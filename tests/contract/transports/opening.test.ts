import { createServer } from 'node:net';
import { describe, expect, it } from 'vitest';
import { monotonicNow } from '../../../src/host/clock/monotonic-now.ts';
import { listSerialPorts } from '../../../src/host/transport/list-ports.ts';
import { openTransport } from '../../../src/host/transport/open.ts';
import { ChambersideError } from '../../../src/model/error-code.ts';
import { inProcessPeer, pseudoTerminalPeer, tcpPeer } from '../../support/transport-peers.ts';

async function refusal(opening: Promise<unknown>): Promise<ChambersideError> {
  try {
    await opening;
  } catch (error) {
    if (error instanceof ChambersideError) return error;
    throw error;
  }
  throw new Error('it was opened');
}

describe('opening a transport', () => {
  it('says that a serial port does not exist, which one, and what to do', async () => {
    const error = await refusal(
      openTransport({ transport: 'serial', path: '/dev/no-such-port', baudRate: 9600 }, monotonicNow),
    );
    expect(error.code).toBe('port-not-found');
    expect(error.where).toContain('/dev/no-such-port');
    expect(error.remedy).not.toBe('');
  });

  it('says that a path is no serial port', async () => {
    const error = await refusal(
      openTransport({ transport: 'serial', path: '/dev/null', baudRate: 9600 }, monotonicNow),
    );
    expect(error.code).toBe('port-failed');
  });

  it('refuses an empty path and a baud rate that is no number', async () => {
    expect((await refusal(openTransport({ transport: 'serial', path: '', baudRate: 9600 }, monotonicNow))).code).toBe(
      'port-failed',
    );
    const noRate = { transport: 'serial', path: '/dev/null', baudRate: Number.NaN } as const;
    expect((await refusal(openTransport(noRate, monotonicNow))).code).toBe('port-failed');
  });

  it('says that a serial port is held by another, and opens it once it is free', async () => {
    const peer = await pseudoTerminalPeer();
    try {
      const first = await peer.open(monotonicNow);
      const error = await refusal(peer.open(monotonicNow));
      expect(error.code).toBe('port-busy');
      await first.close();
      const second = await peer.open(monotonicNow);
      await second.close();
    } finally {
      await peer.release();
    }
  });

  it('says that nothing listens on a TCP port, and refuses a port number out of range', async () => {
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    const address = server.address();
    if (address === null || typeof address === 'string') throw new Error('no address');
    await new Promise((resolve) => server.close(resolve));
    const connection = { transport: 'tcp', host: '127.0.0.1', port: address.port } as const;
    const error = await refusal(openTransport(connection, monotonicNow));
    expect(error.code).toBe('port-not-found');
    expect(error.where).toContain(String(address.port));
    expect((await refusal(openTransport({ ...connection, port: 70_000 }, monotonicNow))).code).toBe('port-failed');
  });

  it('opens an in-process name only where a rig in this process gave it', async () => {
    const connection = { transport: 'in-process', name: 'photometer' } as const;
    expect((await refusal(openTransport(connection, monotonicNow))).code).toBe('port-not-found');
  });
});

describe('control lines', () => {
  it('are none of a TCP connection, nor of a cable to an instrument that has none', async () => {
    for (const makePeer of [tcpPeer, inProcessPeer]) {
      const peer = await makePeer();
      const transport = await peer.open(monotonicNow);
      expect(transport.controlLines).toBeUndefined();
      await transport.close();
      await peer.release();
    }
  });

  it('are said to be missing by a port whose system has none, and by a port that is closed', async () => {
    const peer = await pseudoTerminalPeer();
    try {
      const transport = await peer.open(monotonicNow);
      const { controlLines } = transport;
      // One after the other: the second may be refused before the first, while nobody waits for it yet.
      for (const ask of [() => controlLines?.read(), () => controlLines?.set({ dtr: true, rts: false })]) {
        const error = await refusal(ask() ?? Promise.resolve());
        expect(error.code).toBe('port-failed');
        expect(error.where).toContain('serial');
        expect(error.remedy).toContain('control lines');
      }
      await transport.close();
      expect((await refusal(transport.controlLines?.read() ?? Promise.resolve())).code).toBe('transport-closed');
    } finally {
      await peer.release();
    }
  });
});

describe('listing serial ports', () => {
  it('never fails, and says so when there is nothing to choose from', async () => {
    const listing = await listSerialPorts();
    for (const port of listing.ports) expect(port.path).not.toBe('');
    if (listing.ports.length === 0) expect(listing.note).toMatch(/typed by hand/);
  });
});
