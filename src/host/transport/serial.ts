import { isMainThread } from 'node:worker_threads';
import type { ControlLines, ControlOutputs } from '../../device/control-lines.ts';
import type { Connection, Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { failReadsAfterHangUp } from './hang-up.ts';
import { closingLimitMilliseconds, createPendingWrites } from './pending-writes.ts';
import { createReceiver, unheardReason } from './receiver.ts';

type SerialConnection = Extract<Connection, { transport: 'serial' }>;

/** The binding reports the operating system's words only; these are its wordings on Linux, macOS and Windows. */
function openError(connection: SerialConnection, cause: Error): ChambersideError {
  const where = `serial ${connection.path}`;
  const says = cause.message;
  if (/cannot lock port|resource busy|access denied/i.test(says)) {
    return new ChambersideError(
      'port-busy',
      `another program holds the port ${connection.path}`,
      where,
      'Close the other program, or choose another port.',
      cause,
    );
  }
  if (/no such file|file not found|cannot find|no such device/i.test(says)) {
    return new ChambersideError(
      'port-not-found',
      `there is no port ${connection.path}`,
      where,
      'Plug the adapter in, and look up its present name with `chamberside ports`.',
      cause,
    );
  }
  const remedy = /permission denied/i.test(says)
    ? 'Give this account the right to use serial ports (on Linux usually membership of the group dialout).'
    : 'Check cable and adapter, and the baud rate in the connection.';
  return new ChambersideError('port-failed', `the port could not be opened: ${says}`, where, remedy, cause);
}

/** The part of the binding's port that control lines need: its own calls, because the library sets what is left out. */
interface LinePort {
  get(): Promise<{ readonly cts: boolean; readonly dsr: boolean; readonly dcd: boolean }>;
  set(outputs: ControlOutputs): Promise<void>;
}

function controlLineError(label: string, what: string, cause: unknown): ChambersideError {
  const says = cause instanceof Error ? cause.message : String(cause);
  const remedy = 'Use a serial port that has control lines: a pseudo-terminal and many converters have none.';
  return new ChambersideError('port-failed', `${what}: ${says}`, label, remedy, cause);
}

/** What the system says when an adapter goes is about its own books. */
function inWords(lost: string): string {
  const gone = /bad file descriptor|input\/output error|no such device|device not configured|operation aborted/i;
  return gone.test(lost) ? `cable or adapter was pulled out, or lost its power (${lost})` : lost;
}

/**
 * Opens a serial port, 8 data bits, no parity, one stop bit, exclusively, and discards what the operating system had
 * received before: it would be stamped with the wrong time. The first line after opening may still be partial. The
 * port is read from the first moment on, because a dead peer is noticed only while reading.
 * @param now stamps every chunk, first thing in the data callback, µs.
 * @throws ChambersideError `port-busy`, `port-not-found`, `port-failed`; `internal` in a worker thread, where the
 *   native binding would abort the whole process.
 */
export async function openSerial(connection: SerialConnection, now: () => number): Promise<Transport> {
  const label = `serial ${connection.path} at ${connection.baudRate}`;
  if (!isMainThread) {
    throw new ChambersideError(
      'internal',
      'a serial port was opened in a worker thread',
      label,
      'Open serial ports on the main thread of the process.',
    );
  }
  // Loaded on first use: it costs 30 ms that a rehearsal in-process need not pay.
  const { SerialPort } = await import('serialport');
  const port = await new Promise<InstanceType<typeof SerialPort>>((resolve, reject) => {
    try {
      const opening = new SerialPort({ path: connection.path, baudRate: connection.baudRate, lock: true }, (error) => {
        if (error === null) resolve(opening);
        else reject(openError(connection, error));
      });
    } catch (error) {
      // The constructor itself refuses an empty path or a baud rate that is no number.
      reject(openError(connection, error instanceof Error ? error : new Error(String(error))));
    }
  });

  // Before the first read, which begins with the data listener below.
  failReadsAfterHangUp(port.port);

  const receiver = createReceiver();
  const pending = createPendingWrites();
  let lastError: string | undefined;
  let closing: Promise<void> | undefined;

  const closed = new Promise<void>((resolve) => {
    port.once('close', (error: Error | null | undefined) => {
      const lost = error?.message ?? lastError;
      receiver.end(lost === undefined ? 'closed by the program' : `the connection broke: ${inWords(lost)}`);
      resolve();
    });
  });
  port.on('error', (error: Error) => {
    lastError = error.message;
    if (port.isOpen && !port.closing) port.close();
  });

  const close = (): Promise<void> => {
    closing ??= (async () => {
      await pending.settled(closingLimitMilliseconds);
      if (port.isOpen && !port.closing) port.close();
      await closed;
    })();
    return closing;
  };

  await new Promise<void>((resolve) => {
    // A port that cannot be flushed is used as it is.
    port.flush(() => resolve());
  });
  port.on('data', (chunk: Buffer) => {
    const atMicroseconds = now();
    if (closing !== undefined) return;
    // A copy of its own: the binding cuts its chunks from one pool.
    if (!receiver.deliver(new Uint8Array(chunk), atMicroseconds)) {
      lastError = unheardReason;
      void close();
    }
  });

  const openPort = (): LinePort => {
    const binding: unknown = port.port;
    if (!receiver.ended && closing === undefined && port.isOpen && binding != null) return binding as LinePort;
    throw new ChambersideError('transport-closed', 'the port is closed', label, 'Connect the instrument again.');
  };
  const controlLines: ControlLines = {
    async read() {
      const binding = openPort();
      try {
        const { cts, dsr, dcd } = await binding.get();
        // The binding does not tell the ring indicator.
        return { state: { cts, dsr, dcd, ri: null }, atMicroseconds: now() };
      } catch (error) {
        throw controlLineError(label, 'it does not tell its control lines', error);
      }
    },
    async set({ dtr, rts }) {
      const binding = openPort();
      try {
        await binding.set({ dtr, rts });
      } catch (error) {
        throw controlLineError(label, 'its control lines cannot be set', error);
      }
    },
  };

  return {
    label,
    controlLines,
    write(bytes) {
      if (receiver.ended || closing !== undefined || !port.isOpen || bytes.length === 0) return;
      const done = pending.begin();
      port.write(Buffer.from(bytes), () => done());
    },
    onBytes: receiver.onBytes,
    onClose: receiver.onClose,
    close,
  };
}
