import { expect } from 'vitest';
import type { DriverSink } from '../../../src/device/driver.ts';
import type { Cancel, Clock } from '../../../src/device/timers.ts';
import type { Transport } from '../../../src/device/transport.ts';
import type { ProblemCode } from '../../../src/model/reading.ts';

/** A clock that stands still until it is advanced, and says how many timers are set. */
export interface ManualClock extends Clock {
  readonly timerCount: number;
  /** Runs every timer that falls due on the way, in order of time. */
  advance(microseconds: number): void;
}

export function createManualClock(startMicroseconds = 0): ManualClock {
  let now = startMicroseconds;
  let order = 0;
  const timers = new Map<number, { readonly due: number; readonly callback: () => void }>();
  const at = (due: number, callback: () => void): Cancel => {
    order += 1;
    const key = order;
    timers.set(key, { due: Math.max(due, now), callback });
    return () => {
      timers.delete(key);
    };
  };
  return {
    now: () => now,
    at,
    after(delay, callback) {
      expect(delay).toBeGreaterThanOrEqual(0);
      return at(now + delay, callback);
    },
    get timerCount() {
      return timers.size;
    },
    advance(microseconds) {
      const target = now + microseconds;
      for (;;) {
        let next: number | undefined;
        for (const [key, timer] of timers) {
          if (timer.due <= target && (next === undefined || timer.due < (timers.get(next)?.due ?? 0))) next = key;
        }
        if (next === undefined) break;
        const timer = timers.get(next);
        timers.delete(next);
        now = timer?.due ?? now;
        timer?.callback();
      }
      now = target;
    },
  };
}

/** The program's end of a cable whose other end a test holds. */
export interface TestCable extends Transport {
  /** All bytes that the driver wrote, as text. */
  readonly written: string;
  readonly arrivedBytes: number;
  arrive(bytes: Uint8Array, atMicroseconds: number): void;
  /** The connection breaks. */
  breakOff(reason: string): void;
  onWrite(listener: (bytes: Uint8Array) => void): void;
}

export function createTestCable(): TestCable {
  let bytesListener: ((bytes: Uint8Array, atMicroseconds: number) => void) | undefined;
  let closeListener: ((reason: string) => void) | undefined;
  let writeListener: ((bytes: Uint8Array) => void) | undefined;
  let written = '';
  let arrivedBytes = 0;
  return {
    label: 'test cable',
    get written() {
      return written;
    },
    get arrivedBytes() {
      return arrivedBytes;
    },
    write(bytes) {
      written += Buffer.from(bytes).toString('latin1');
      writeListener?.(bytes);
    },
    onBytes(listener) {
      bytesListener = listener;
    },
    onClose(listener) {
      closeListener = listener;
    },
    onWrite(listener) {
      writeListener = listener;
    },
    arrive(bytes, atMicroseconds) {
      arrivedBytes += bytes.length;
      bytesListener?.(bytes, atMicroseconds);
    },
    breakOff(reason) {
      const listener = closeListener;
      closeListener = undefined;
      listener?.(reason);
    },
    close: () => Promise.resolve(),
  };
}

export interface RecordedReading {
  readonly stream: string;
  readonly value: number;
  readonly at: number;
}

export interface RecordedProblem {
  readonly code: ProblemCode;
  readonly detail: string;
  readonly byteCount: number;
  readonly at: number;
}

/** Keeps what a driver reports. */
export interface RecordingSink extends DriverSink {
  readonly readings: RecordedReading[];
  readonly problems: RecordedProblem[];
  readonly understoodBytes: number;
  readonly problemBytes: number;
  codes(): ProblemCode[];
}

export function createRecordingSink(): RecordingSink {
  const readings: RecordedReading[] = [];
  const problems: RecordedProblem[] = [];
  let understoodBytes = 0;
  return {
    readings,
    problems,
    get understoodBytes() {
      return understoodBytes;
    },
    get problemBytes() {
      return problems.reduce((sum, problem) => sum + problem.byteCount, 0);
    },
    codes: () => problems.map((problem) => problem.code),
    reading(stream, value, at) {
      readings.push({ stream, value, at });
    },
    problem(code, detail, byteCount, at) {
      problems.push({ code, detail, byteCount, at });
    },
    understood(byteCount) {
      understoodBytes += byteCount;
    },
  };
}

/** One byte a character. */
export function latin1(text: string): Uint8Array {
  return Uint8Array.from(Buffer.from(text, 'latin1'));
}

/** Seeded uniform numbers in [0, 1): a linear congruential generator (constants of Numerical Recipes). */
export function createRandom(seed: number): () => number {
  let state = Math.imul(seed, 0x9e37_79b1) >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

/** Lets promise reactions run. */
export async function settlePromises(): Promise<void> {
  for (let turn = 0; turn < 10; turn += 1) await Promise.resolve();
}
