import { spawn, type ChildProcess } from 'node:child_process';
import { createServer, type Socket } from 'node:net';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import type { Clock } from '../../src/device/timers.ts';
import type { Connection, Transport } from '../../src/device/transport.ts';
import { createMonotonicClock } from '../../src/host/clock/monotonic-clock.ts';
import { createInProcessPair, type InstrumentEnd } from '../../src/host/transport/in-process.ts';
import { openTransport } from '../../src/host/transport/open.ts';

/** The other end of a transport under test. It stays where it is while the program opens and closes. */
export interface TransportPeer {
  open(now: () => number): Promise<Transport>;
  send(bytes: Uint8Array): void;
  /** Everything received so far, over all openings. */
  received(): Buffer;
  /** The device vanishes, as if it were unplugged or lost its power. */
  vanish(): void;
  release(): Promise<void>;
}

export async function inProcessPeer(): Promise<TransportPeer> {
  const clock: Clock = createMonotonicClock();
  let end: InstrumentEnd | undefined;
  const chunks: Uint8Array[] = [];
  return {
    async open(now) {
      const pair = createInProcessPair('under test', clock, { now });
      end = pair.instrument;
      end.onBytes((bytes) => chunks.push(bytes));
      return pair.program;
    },
    send: (bytes) => end?.send(bytes),
    received: () => Buffer.concat(chunks),
    vanish: () => end?.close(),
    release: async () => end?.close(),
  };
}

export async function tcpPeer(): Promise<TransportPeer> {
  const chunks: Buffer[] = [];
  const early: Uint8Array[] = [];
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket);
    socket.on('data', (chunk: Buffer) => chunks.push(chunk));
    socket.on('error', () => undefined);
    socket.on('close', () => sockets.delete(socket));
    for (const bytes of early.splice(0)) socket.write(bytes);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('the test server has no port');
  const connection: Connection = { transport: 'tcp', host: '127.0.0.1', port: address.port };
  const dropAll = (): void => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    open: (now) => openTransport(connection, now),
    send(bytes) {
      const [socket] = sockets;
      if (socket === undefined) early.push(bytes);
      else socket.write(bytes);
    },
    received: () => Buffer.concat(chunks),
    vanish: dropAll,
    release: () =>
      new Promise((resolve) => {
        dropAll();
        server.close(() => resolve());
      }),
  };
}

export async function pseudoTerminalPeer(): Promise<TransportPeer> {
  const entry = fileURLToPath(new URL('./transport-pty-process.ts', import.meta.url));
  const child: ChildProcess = spawn(process.execPath, ['--import', 'tsx', entry], {
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  const { stdin, stdout } = child;
  if (stdin === null || stdout === null) throw new Error('the child has no pipes');
  stdin.on('error', () => undefined);
  const gone = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const chunks: Buffer[] = [];
  const path = await new Promise<string>((resolve, reject) => {
    child.once('exit', () => reject(new Error('the pseudo-terminal process ended')));
    createInterface({ input: stdout }).on('line', (line) => {
      // The last line of one that was killed may be torn.
      if (!line.endsWith('}')) return;
      const message = JSON.parse(line) as { path?: string; received?: string };
      if (message.path !== undefined) resolve(message.path);
      if (message.received !== undefined) chunks.push(Buffer.from(message.received, 'hex'));
    });
  });
  return {
    open: (now) => openTransport({ transport: 'serial', path, baudRate: 115_200 }, now),
    send: (bytes) => stdin.write(`${JSON.stringify({ send: Buffer.from(bytes).toString('hex') })}\n`),
    received: () => Buffer.concat(chunks),
    vanish: () => child.kill('SIGKILL'),
    async release() {
      stdin.end();
      await gone;
    },
  };
}

/** Waits until a condition holds. @throws Error naming what did not happen in time. */
export async function eventually(what: string, holds: () => boolean, limitMilliseconds = 5000): Promise<void> {
  const begin = performance.now();
  while (!holds()) {
    if (performance.now() - begin > limitMilliseconds) throw new Error(`did not happen in time: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 2));
  }
}
