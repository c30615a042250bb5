import type { Clock } from '../../device/timers.ts';
import { createEventQueue, wholeMicroseconds } from './event-queue.ts';
import { monotonicNow } from './monotonic-now.ts';

export interface RunOptions {
  /**
   * When to stop: a virtual time (µs; events at it still happen, and the clock then stands at it), or a predicate
   * that is asked before the first event and after each one. Default: when no event is left.
   */
  readonly until?: number | (() => boolean);
  /** Multiple of real time, > 0; Infinity (default) does not wait. */
  readonly speed?: number;
  /**
   * Awaited before time moves on to `nextMicroseconds`, so that virtual time cannot run ahead of a slow part of the
   * real world (a disk commit). Events added meanwhile are respected. A rejection ends the run.
   */
  readonly gate?: (nextMicroseconds: number) => Promise<void> | undefined;
}

/** Why a run ended: its condition came true, or no event is left that could make it true. */
export type RunEnd = 'reached' | 'exhausted';

export interface VirtualClock extends Clock {
  /**
   * Performs events in the order (time, insertion). After each, all promise jobs and ticks it caused are settled
   * before the next, so that code written with promises sees the same order of things at any speed. Only one run at
   * a time.
   * @returns why it ended.
   * @throws what an event's callback or the gate threw; the clock stands at that event and can be run again.
   */
  run(options?: RunOptions): Promise<RunEnd>;
}

/** Longest real wait in one piece: what is added from outside is seen at least this often. */
const sliceMilliseconds = 10;
/** A lag greater than this is forgiven: after a stall the run goes on at its speed instead of racing to catch up. */
const forgivenLagMicroseconds = 250_000;

/** Promise jobs and ticks run empty before an immediate: measured 0.7 µs a turn on an idle loop. */
function settle(): Promise<void> {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}

function sleep(milliseconds: number): Promise<void> {
  return new Promise((resolve) => {
    setTimeout(resolve, milliseconds);
  });
}

/**
 * A clock that moves only when it is run. Between events `now()` is the time of the last event; during a paced wait
 * it follows real time up to the next event, so that input from outside is stamped when it came.
 * @param startMicroseconds its first reading, whole µs ≥ 0.
 */
export function createVirtualClock(startMicroseconds: number): VirtualClock {
  const queue = createEventQueue();
  let nowMicroseconds = wholeMicroseconds(startMicroseconds);
  let running = false;

  const at: Clock['at'] = (atMicroseconds, callback) =>
    queue.add(Math.max(wholeMicroseconds(atMicroseconds), nowMicroseconds), callback);

  /** Moves time on to `target`, or less far when an earlier event turns up. Returns true when it got there. */
  const advance = async (target: number, pace: Pace | undefined, open: (target: number) => Promise<boolean>) => {
    if (target === nowMicroseconds) return true;
    if (!(await open(target))) return false;
    if (pace !== undefined) {
      const reached = await pace.wait(nowMicroseconds, target);
      if (reached < target) {
        nowMicroseconds = reached;
        return false;
      }
    }
    nowMicroseconds = target;
    return true;
  };

  const run = async (options: RunOptions): Promise<RunEnd> => {
    const { until, gate } = options;
    const limit = typeof until === 'number' ? wholeMicroseconds(until) : undefined;
    const done = typeof until === 'function' ? until : undefined;
    const pace = createPace(options.speed ?? Number.POSITIVE_INFINITY, nowMicroseconds);
    let openedTo = nowMicroseconds;

    /** Passes the gate once per target; false when an event before the target came in meanwhile. */
    const open = async (target: number): Promise<boolean> => {
      if (gate === undefined || target <= openedTo) return true;
      const passing = gate(target);
      if (passing !== undefined) await passing;
      openedTo = target;
      const earliest = queue.next();
      return earliest === undefined || earliest >= target;
    };

    await settle();
    for (;;) {
      if (done?.()) return 'reached';
      const next = queue.next();
      if (next === undefined || (limit !== undefined && next > limit)) {
        if (limit === undefined) return 'exhausted';
        if (limit <= nowMicroseconds || (await advance(limit, pace, open))) {
          // Something may have been added for this very moment while the gate or the pace was awaited.
          const added = queue.next();
          if (added === undefined || added > limit) return 'reached';
        }
        continue;
      }
      if (!(await advance(next, pace, open))) continue;
      queue.take()?.();
      await settle();
    }
  };

  return {
    now: () => nowMicroseconds,
    at,
    after: (delayMicroseconds, callback) => at(nowMicroseconds + delayMicroseconds, callback),
    async run(options = {}) {
      if (running) throw new RangeError('the virtual clock is being run already');
      running = true;
      try {
        return await run(options);
      } finally {
        running = false;
      }
    },
  };
}

interface Pace {
  /** Waits at most one slice of real time on the way from one virtual time to another; returns how far it got. */
  wait(fromMicroseconds: number, toMicroseconds: number): Promise<number>;
}

function createPace(speed: number, startMicroseconds: number): Pace | undefined {
  if (!(speed > 0)) throw new RangeError(`the speed must be greater than zero, not ${speed}`);
  if (speed === Number.POSITIVE_INFINITY) return undefined;
  let virtualOrigin = startMicroseconds;
  let realOrigin = monotonicNow();
  return {
    async wait(fromMicroseconds, toMicroseconds) {
      const due = realOrigin + (toMicroseconds - virtualOrigin) / speed;
      const ahead = due - monotonicNow();
      if (ahead < -forgivenLagMicroseconds) {
        virtualOrigin = toMicroseconds;
        realOrigin = monotonicNow();
      }
      // A timer cannot wait for less than a millisecond; being less ahead than that evens out over the next events.
      if (ahead < 1000) return toMicroseconds;
      await sleep(Math.min(ahead / 1000, sliceMilliseconds));
      const reached = virtualOrigin + (monotonicNow() - realOrigin) * speed;
      return Math.max(fromMicroseconds, Math.min(toMicroseconds, Math.floor(reached)));
    },
  };
}
