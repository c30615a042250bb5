import { createConnection, type Socket } from 'node:net';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { closingLimitMilliseconds, createPendingWrites } from './pending-writes.ts';
import { createReceiver, unheardReason } from './receiver.ts';

type TcpConnection = Extract<Connection, { transport: 'tcp' }>;

/** How long to wait for the other side to take the connection, ms. */
const connectLimitMilliseconds = 3000;
/** A silent peer is asked whether it still exists after this long, ms: a pulled network cable sends no farewell. */
const keepAliveMilliseconds = 5000;

function openError(connection: TcpConnection, cause: NodeJS.ErrnoException): ChambersideError {
  const where = `tcp ${connection.host}:${connection.port}`;
  if (cause.code === 'ECONNREFUSED' || cause.code === 'ENOTFOUND' || cause.code === 'EAI_AGAIN') {
    const what = cause.code === 'ECONNREFUSED' ? 'nothing listens there' : `there is no host ${connection.host}`;
    const remedy = 'Switch the instrument on, and check host and port.';
    return new ChambersideError('port-not-found', what, where, remedy, cause);
  }
  return new ChambersideError(
    'port-failed',
    `the connection could not be made: ${cause.message}`,
    where,
    'Check the network, and the host and port in the connection.',
    cause,
  );
}

function connect(connection: TcpConnection): Promise<Socket> {
  return new Promise((resolve, reject) => {
    let socket: Socket;
    try {
      socket = createConnection({
        host: connection.host,
        port: connection.port,
        noDelay: true,
        keepAlive: true,
        keepAliveInitialDelay: keepAliveMilliseconds,
      });
    } catch (error) {
      // A port number out of range is refused at once.
      reject(openError(connection, error instanceof Error ? error : new Error(String(error))));
      return;
    }
    const fail = (error: Error): void => {
      clearTimeout(timer);
      socket.destroy();
      reject(openError(connection, error));
    };
    const timer = setTimeout(() => {
      fail(new Error(`no answer within ${connectLimitMilliseconds / 1000} s`));
    }, connectLimitMilliseconds);
    socket.once('error', fail);
    socket.once('connect', () => {
      clearTimeout(timer);
      socket.off('error', fail);
      resolve(socket);
    });
  });
}

/**
 * Connects to an instrument, or a serial device server, over TCP; without delay for small writes.
 * @param now stamps every chunk, first thing in the data callback, µs.
 * @throws ChambersideError `port-not-found`, `port-failed`.
 */
export async function openTcp(connection: TcpConnection, now: () => number): Promise<Transport> {
  const socket = await connect(connection);
  const receiver = createReceiver();
  const pending = createPendingWrites();
  let lastError: string | undefined;
  let closing: Promise<void> | undefined;

  const closed = new Promise<void>((resolve) => {
    socket.once('close', () => {
      if (closing !== undefined && lastError === undefined) receiver.end('closed by the program');
      else receiver.end(`the connection broke: ${lastError ?? 'the other side closed it'}`);
      resolve();
    });
  });
  socket.on('error', (error) => {
    lastError = error.message;
  });

  const close = (): Promise<void> => {
    closing ??= (async () => {
      if (!socket.destroyed) await pending.settled(closingLimitMilliseconds);
      socket.destroy();
      await closed;
    })();
    return closing;
  };

  socket.on('data', (chunk: Buffer) => {
    const atMicroseconds = now();
    if (closing !== undefined) return;
    if (!receiver.deliver(new Uint8Array(chunk), atMicroseconds)) {
      lastError = unheardReason;
      void close();
    }
  });

  return {
    label: `tcp ${connection.host}:${connection.port}`,
    write(bytes) {
      if (receiver.ended || closing !== undefined || !socket.writable || bytes.length === 0) return;
      const done = pending.begin();
      socket.write(Buffer.from(bytes), () => done());
    },
    onBytes: receiver.onBytes,
    onClose: receiver.onClose,
    close,
  };
}
