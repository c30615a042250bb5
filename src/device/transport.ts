import type { ControlLines } from './control-lines.ts';
import type { Turns } from './turns.ts';

/**
 * The byte seam between an instrument and the program. Serial, TCP and in-process transports are
 * interchangeable; drivers see nothing else of the outside world.
 */
export interface Transport {
  /** What it is connected to, for messages: `serial /dev/ttyUSB0 at 115200`, `tcp 127.0.0.1:4100`. */
  readonly label: string;
  /**
   * Present where other conversations share the line: whoever asks takes a turn first, and what arrives goes to the
   * one that had the last turn.
   */
  readonly turns?: Turns | undefined;
  /**
   * Present where the connection has lines besides those of the bytes: a serial port, and an in-process cable to an
   * instrument that has some. A network has none, and a line that several instruments share is nobody's own.
   */
  readonly controlLines?: ControlLines | undefined;
  /**
   * Sends bytes in order. Never throws; a broken connection is reported once through `onClose`, and writes after
   * it are dropped.
   */
  write(bytes: Uint8Array): void;
  /**
   * Bytes as they came, stamped once on arrival, on the clock of whoever opened it, µs. One listener; set before `open`
   * data flow.
   */
  onBytes(listener: (bytes: Uint8Array, atMicroseconds: number) => void): void;
  /** Called once, when the connection is gone for whatever reason (`close` included). */
  onClose(listener: (reason: string) => void): void;
  /** Releases everything; resolves when nothing is left open. Safe to call twice. */
  close(): Promise<void>;
}

/** Where an instrument is connected today. Not part of the rig: port names change between mornings. */
export type Connection =
  | { readonly transport: 'serial'; readonly path: string; readonly baudRate: number }
  | { readonly transport: 'tcp'; readonly host: string; readonly port: number }
  | { readonly transport: 'in-process'; readonly name: string };
