/**
 * Cuts a byte stream into lines. Two implementations satisfy the same contract test: the pure one used by
 * simulators, captures and virtual time, and the one at the host's edge in front of real ports.
 * Every byte is accounted for: pushed = delivered in lines + delimiters + set aside + pending.
 */
export interface LineFramer {
  /** Bytes pushed that are neither delivered, delimiters nor set aside so far. */
  readonly pendingBytes: number;
  /** Bytes as they arrived. Lines completed by them carry this arrival time. */
  push(bytes: Uint8Array, atMicroseconds: number): void;
  /** Ends the stream: a pending part without delimiter is reported as set aside. */
  end(atMicroseconds: number): void;
  /** Drops the pending part without reporting it and returns its byte count (after a reconnect). */
  discardPending(): number;
}

export interface LineFramerOptions {
  /** 1 or 2 bytes that end a line. Empty lines are delimiters only and are not delivered. */
  readonly delimiter: string;
  /** Longest line without its delimiter, bytes, 1 to 65536. More is set aside up to the next delimiter. */
  readonly capBytes: number;
  /** A complete line as Latin-1 text (one character a byte), without its delimiter. */
  readonly onLine: (line: string, atMicroseconds: number) => void;
  /** Bytes that can belong to no line. */
  readonly onSetAside: (byteCount: number, reason: 'too-long' | 'incomplete', atMicroseconds: number) => void;
}

export type LineFramerFactory = (options: LineFramerOptions) => LineFramer;
