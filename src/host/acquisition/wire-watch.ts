import type { LineFramerFactory } from '../../device/framing.ts';
import type { Problem } from '../../model/reading.ts';

/**
 * Sees everything of one instrument as it happens: bytes before the driver has them, problems before equal ones are
 * added up. It is called while measuring, so it only notes.
 */
export interface WireWatch {
  /** The bytes are the transport's: they are copied or forgotten. */
  chunk(direction: 'in' | 'out', atMicroseconds: number, bytes: Uint8Array): void;
  /** The driver has its bytes cut into lines. */
  speaksInLines(): void;
  /** A line has been cut. */
  line(atMicroseconds: number): void;
  /** The driver has made something of an answer: a reading, an acknowledgement, a problem with its bytes. */
  delivered(atMicroseconds: number): void;
  problem(problem: Problem): void;
}

/** Framers that say of each line that they have cut it. */
export function watchLines(lines: LineFramerFactory, watch: WireWatch): LineFramerFactory {
  return (options) => {
    watch.speaksInLines();
    return lines({
      ...options,
      onLine(line, atMicroseconds) {
        watch.line(atMicroseconds);
        options.onLine(line, atMicroseconds);
      },
    });
  };
}
