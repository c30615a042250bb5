/**
 * The guard of a rig's loads: a process of its own, started by a host and outliving it. Arguments: the folder in which
 * it leaves its address and its reports, and a name for its files. Prints its address as one line of JSON; everything
 * else is said on its socket (src/safety/guard).
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { setPriority, tmpdir } from 'node:os';
import { join } from 'node:path';
import { createMonotonicClock } from '../host/clock/monotonic-clock.ts';
import { openTransport } from '../host/transport/open.ts';
import type { GuardAddress } from '../safety/guard/messages.ts';
import { createGuard } from './guard.ts';
import { openReportBook } from './report-book.ts';

const [folder = '', name = ''] = process.argv.slice(2);
const addressFile = join(folder, `${name}.address.json`);

/** A place that only this account can reach, with a short name: that of a socket has a hundred characters at most. */
const socketFolder = process.platform === 'win32' ? null : mkdtempSync(join(tmpdir(), 'chamberside-guard-'));
const socket =
  socketFolder === null ? `\\\\.\\pipe\\chamberside-guard-${randomBytes(16).toString('hex')}` : join(socketFolder, 's');
const address: GuardAddress = { processId: process.pid, socket, token: randomBytes(24).toString('hex') };

// It sleeps nearly always, and is not to wait when it wakes. Where the system forbids that, it is as others are.
try {
  setPriority(-10);
  if (process.platform === 'linux') writeFileSync('/proc/self/autogroup', '-10');
} catch {
  // Only promptness depends on it.
}

// The terminal of the host is not ours, nor does a reader who has gone concern us.
for (const signal of ['SIGHUP', 'SIGINT'] as const) process.on(signal, () => undefined);
for (const stream of [process.stdout, process.stderr]) stream.on('error', () => undefined);

const server = createServer();
const guard = createGuard({
  clock: createMonotonicClock(),
  wallNow: () => new Date(),
  processId: process.pid,
  token: address.token,
  newReport: () => `${name}-${randomBytes(6).toString('hex')}`,
  openTransport: (connection, now) => openTransport(connection, now),
  book: openReportBook(join(folder, `${name}.reports.jsonl`)),
  whenRead: (callback) => void setImmediate(callback),
  onEnd() {
    rmSync(addressFile, { force: true });
    server.close();
    if (socketFolder !== null) rmSync(socketFolder, { recursive: true, force: true });
    // What was said last is on its way: a moment, whatever holds the process.
    setTimeout(() => process.exit(0), 50);
  },
});

process.on('SIGTERM', () => guard.toldToEnd('the system ended the guard'));
process.on('uncaughtException', (error) => {
  process.stderr.write(`${error.stack ?? error.message}\n`);
  guard.toldToEnd(`the guard has failed: ${error.message}`);
});

server.on('connection', (connection) => {
  connection.setNoDelay(true);
  const peer = guard.connect({
    send: (bytes) => void connection.write(bytes),
    end: () => connection.end(),
  });
  connection.on('data', (chunk: Buffer) => peer.receive(new Uint8Array(chunk)));
  connection.on('error', () => undefined);
  connection.on('close', () => peer.gone());
  // A host that was killed is seen as one that has nothing more to say.
  connection.on('end', () => peer.gone());
});
server.on('error', (error) => {
  process.stderr.write(`the guard cannot be reached: ${error.message}\n`);
  process.exit(1);
});
server.listen(socket, () => {
  writeFileSync(addressFile, `${JSON.stringify(address)}\n`, { mode: 0o600 });
  process.stdout.write(`${JSON.stringify(address)}\n`);
});
