import { readFileSync } from 'node:fs';
import type { Clock } from '../../device/timers.ts';
import { microsecondsPerSecond } from '../../model/time.ts';

/** The machine's own clocks, by which the host notices that it did not run. Never virtual. */
export interface MachineTime {
  /** Monotonic, µs; on Linux it stands still while the machine sleeps. Trial time is built on it. */
  readonly clock: Clock;
  /** Wall clock, µs since 1970. Anybody may set it. */
  readonly wallNow: () => number;
  /** Since the machine was started, sleep included, µs, in steps of at most 1 s; null where it does not say. */
  readonly bootNow: () => number | null;
}

/** @param clock the monotonic clock that the trial runs on. */
export function createMachineTime(clock: Clock, uptimePath = '/proc/uptime'): MachineTime {
  return { clock, wallNow: () => Date.now() * 1000, bootNow: () => readUptime(uptimePath) };
}

/**
 * The clock of the boot, as Linux gives it to everybody: `proc_uptime(5)`, seconds with two decimals, the time spent
 * in suspend included.
 */
function readUptime(path: string): number | null {
  let text: string;
  try {
    text = readFileSync(path, 'latin1');
  } catch {
    return null;
  }
  const seconds = /^\d+(\.\d+)?(?=\s)/.exec(text)?.[0];
  return seconds === undefined ? null : Math.round(Number(seconds) * microsecondsPerSecond);
}
