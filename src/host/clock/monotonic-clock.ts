import type { Clock } from '../../device/timers.ts';
import { createEventQueue, wholeMicroseconds } from './event-queue.ts';
import { monotonicNow } from './monotonic-now.ts';

/** The longest delay that the platform's timer takes; a longer one would fire at once. */
const longestTimerMilliseconds = 2 ** 31 - 1;

/**
 * How long before a prompt deadline the clock is awake, µs. A process that sleeps is given its core some milliseconds
 * late when others compute (99 of 100 times within 11 ms on two busy cores); one that is awake has it already.
 */
export const awakeBeforeMicroseconds = 15_000;

/** What the clock needs of the platform, so that a test can stand in for it. */
export interface MonotonicPlatform {
  /** Monotonic, whole µs. */
  readonly now: () => number;
  readonly setTimer: (callback: () => void, milliseconds: number) => () => void;
  /** Calls back in a turn of its own, as soon as possible. */
  readonly setTurn: (callback: () => void) => () => void;
}

const machine: MonotonicPlatform = {
  now: monotonicNow,
  setTimer(callback, milliseconds) {
    const timer = setTimeout(callback, milliseconds);
    return () => clearTimeout(timer);
  },
  setTurn(callback) {
    const turn = setImmediate(callback);
    return () => clearImmediate(turn);
  },
};

/**
 * The machine's clock. Deadlines are absolute: a platform timer that fires early is armed again, one that cannot
 * wait long enough is chained. Callbacks come in the order (deadline, insertion), each in a turn of its own, never
 * before their deadline: the same rule as on the virtual clock. Waiting callbacks keep the process alive.
 *
 * Before a prompt deadline it takes one turn after the other until the time has come; whatever else there is to do is
 * done in between.
 */
export function createMonotonicClock(platform: MonotonicPlatform = machine): Clock {
  const queue = createEventQueue();
  let disarm: (() => void) | undefined;
  let armedFor = Number.POSITIVE_INFINITY;
  /** Deadlines up to this one are waited for awake. */
  let awakeUntil = Number.NEGATIVE_INFINITY;

  const arm = (): void => {
    const next = queue.next();
    if (next === armedFor) return;
    disarm?.();
    disarm = undefined;
    armedFor = next ?? Number.POSITIVE_INFINITY;
    if (next === undefined) return;
    const wait = Math.ceil((next - platform.now()) / 1000);
    const awake = wait <= 0 || next <= awakeUntil;
    disarm = awake ? platform.setTurn(fire) : platform.setTimer(fire, Math.min(wait, longestTimerMilliseconds));
  };

  const fire = (): void => {
    disarm = undefined;
    armedFor = Number.NaN;
    const next = queue.next();
    try {
      if (next !== undefined && next <= platform.now()) queue.take()?.();
    } finally {
      arm();
    }
  };

  const at: Clock['at'] = (atMicroseconds, callback, prompt = false) => {
    const deadline = wholeMicroseconds(atMicroseconds);
    const wake = (): void => {
      awakeUntil = Math.max(awakeUntil, deadline);
    };
    const cancelWake = prompt ? queue.add(deadline - awakeBeforeMicroseconds, wake) : undefined;
    const cancel = queue.add(deadline, callback);
    arm();
    return () => {
      cancelWake?.();
      cancel();
      arm();
    };
  };

  return {
    now: platform.now,
    at,
    after: (delayMicroseconds, callback) => at(platform.now() + Math.max(0, delayMicroseconds), callback),
  };
}
