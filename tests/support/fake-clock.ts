import type { Cancel, Clock } from '../../src/device/timers.ts';

/** A clock that stands until it is told to move; timers fire in order of time, then of being set. */
export interface FakeClock extends Clock {
  /** Timers that have neither fired nor been cancelled. */
  readonly pending: number;
  /** Moves to a time, firing what is due on the way; promises settle after every timer. */
  advanceTo(atMicroseconds: number): Promise<void>;
  /** Moves on while timers are pending and the condition holds. */
  runWhile(condition: () => boolean): Promise<void>;
  /** Moves without firing anything: the program did not run. */
  sleepTo(atMicroseconds: number): void;
}

interface Timer {
  readonly atMicroseconds: number;
  readonly order: number;
  readonly callback: () => void;
}

/** Lets promise callbacks that are due run: a few hops are enough for awaited answers. */
async function settle(): Promise<void> {
  for (let hop = 0; hop < 12; hop += 1) await Promise.resolve();
}

export function createFakeClock(startsAtMicroseconds = 0): FakeClock {
  let now = startsAtMicroseconds;
  let order = 0;
  const timers = new Set<Timer>();

  const set = (atMicroseconds: number, callback: () => void): Cancel => {
    order += 1;
    const timer: Timer = { atMicroseconds: Math.max(atMicroseconds, now), order, callback };
    timers.add(timer);
    return () => {
      timers.delete(timer);
    };
  };
  const first = (): Timer | undefined =>
    [...timers].sort((left, right) => left.atMicroseconds - right.atMicroseconds || left.order - right.order)[0];
  const fire = async (timer: Timer): Promise<void> => {
    timers.delete(timer);
    now = Math.max(now, timer.atMicroseconds);
    timer.callback();
    await settle();
  };

  return {
    now: () => now,
    after: (delayMicroseconds, callback) => set(now + delayMicroseconds, callback),
    at: set,
    get pending() {
      return timers.size;
    },
    async advanceTo(atMicroseconds) {
      await settle();
      for (let timer = first(); timer !== undefined && timer.atMicroseconds <= atMicroseconds; timer = first()) {
        await fire(timer);
      }
      now = Math.max(now, atMicroseconds);
    },
    async runWhile(condition) {
      await settle();
      for (let timer = first(); timer !== undefined && condition(); timer = first()) await fire(timer);
    },
    sleepTo(atMicroseconds) {
      now = Math.max(now, atMicroseconds);
    },
  };
}
