import type { ProblemCode } from '../model/reading.ts';
import type { DriverContext } from './driver.ts';

/** Byte ledger and framing of a conversation in lines: what every line-based driver has in common. */
export interface LineReceiver {
  /** Bytes in lines, delimiters and problems so far. Received − accounted are pending in the framer. */
  readonly accountedBytes: number;
  /** Stamp of the latest bytes, µs; undefined before any. */
  readonly lastAtMicroseconds: number | undefined;
  receive(bytes: Uint8Array, atMicroseconds: number): void;
  /** Reports a pending part of a line and takes no more bytes. Safe to call twice. */
  end(): void;
}

export interface LineReceiverOptions {
  readonly context: Pick<DriverContext<unknown>, 'instrument' | 'lines' | 'sink'>;
  /** 1 or 2 bytes that end a line. */
  readonly delimiter: string;
  /** Longest line without its delimiter, bytes, 1 to 65536. */
  readonly capBytes: number;
  /** A line and the wire bytes it takes with its delimiter. The receiver of the call accounts for them in the sink. */
  readonly onLine: (line: string, byteCount: number, atMicroseconds: number) => void;
}

/**
 * Frames what arrives and keeps the ledger: every byte is in a line handed to `onLine`, in a problem, or (delimiters
 * of empty lines) reported as understood.
 */
export function createLineReceiver(options: LineReceiverOptions): LineReceiver {
  const { context, delimiter, capBytes } = options;
  let received = 0;
  let accounted = 0;
  let lastAt: number | undefined;
  let ended = false;
  const framer = context.lines({
    delimiter,
    capBytes,
    onLine(line, atMicroseconds) {
      const byteCount = line.length + delimiter.length;
      accounted += byteCount;
      options.onLine(line, byteCount, atMicroseconds);
    },
    onSetAside(byteCount, reason, atMicroseconds) {
      accounted += byteCount;
      const code: ProblemCode = reason === 'too-long' ? 'line-too-long' : 'line-incomplete';
      const detail =
        reason === 'too-long'
          ? `${byteCount} bytes without an end of line within ${capBytes} bytes`
          : `the conversation ended after ${byteCount} bytes of a line`;
      context.sink.problem(code, detail, byteCount, atMicroseconds);
    },
  });
  return {
    get accountedBytes() {
      return accounted;
    },
    get lastAtMicroseconds() {
      return lastAt;
    },
    receive(bytes, atMicroseconds) {
      if (ended || bytes.length === 0) return;
      received += bytes.length;
      lastAt = atMicroseconds;
      framer.push(bytes, atMicroseconds);
      const bareDelimiters = received - framer.pendingBytes - accounted;
      if (bareDelimiters > 0) {
        accounted += bareDelimiters;
        context.sink.understood(bareDelimiters, atMicroseconds);
      }
    },
    end() {
      if (ended) return;
      ended = true;
      framer.end(lastAt ?? 0);
    },
  };
}
