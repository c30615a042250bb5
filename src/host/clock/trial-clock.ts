import type { Cancel, Clock } from '../../device/timers.ts';
import type { Identifier } from '../../model/identity.ts';
import { microsecondsSchema, type TimeSegment } from '../../model/time.ts';

export interface TrialClockOptions {
  /** Monotonic or virtual; its origin means nothing to the trial. */
  readonly source: Clock;
  readonly bootId: Identifier;
  /** The wall clock, asked once per segment. */
  readonly wallNow: () => Date;
  /** Number of the first segment made here: 0 for a new trial, else one more than the last stored. */
  readonly segment: number;
  readonly reason: TimeSegment['reason'];
  /** Trial time at which that segment begins, µs: 0 for a new trial. */
  readonly beginsAtMicroseconds: number;
}

export interface TrialClock extends Clock {
  /** The segment that runs now. */
  readonly segment: TimeSegment;
  /**
   * Begins the next segment at a trial time that is not in the past. Waiting callbacks keep their trial time and so
   * their deadlines move with the new segment; those that have passed come at once.
   * @throws RangeError when trial time would run backwards.
   */
  beginSegment(reason: TimeSegment['reason'], beginsAtMicroseconds: number): TimeSegment;
  /**
   * Trial time of a reading of the source clock, µs, in the segment made here that ran then; what lies before the
   * first of them counts as its beginning.
   */
  toTrialTime(sourceMicroseconds: number): number;
}

interface Waiting {
  readonly atMicroseconds: number;
  readonly callback: () => void;
  readonly prompt: boolean;
  cancel: Cancel;
}

/** Trial time on top of a monotonic or virtual clock. The first segment begins now. */
export function createTrialClock(options: TrialClockOptions): TrialClock {
  const { source } = options;
  const waiting = new Set<Waiting>();

  const makeSegment = (number: number, reason: TimeSegment['reason'], beginsAtMicroseconds: number): TimeSegment => ({
    segment: number,
    bootId: options.bootId,
    reason,
    beginsAtMicroseconds: microsecondsSchema.parse(beginsAtMicroseconds),
    monotonicOriginMicroseconds: source.now(),
    wallAnchor: options.wallNow().toISOString(),
  });

  let segment = makeSegment(options.segment, options.reason, options.beginsAtMicroseconds);
  const made = [segment];

  const toTrialTime = (sourceMicroseconds: number): number => {
    const ran = made.findLast((candidate) => candidate.monotonicOriginMicroseconds <= sourceMicroseconds);
    if (ran === undefined) return options.beginsAtMicroseconds;
    return ran.beginsAtMicroseconds + (sourceMicroseconds - ran.monotonicOriginMicroseconds);
  };
  const now = (): number => toTrialTime(source.now());

  const arm = (entry: Waiting): void => {
    const sourceMicroseconds =
      segment.monotonicOriginMicroseconds + (entry.atMicroseconds - segment.beginsAtMicroseconds);
    const fire = (): void => {
      waiting.delete(entry);
      entry.callback();
    };
    entry.cancel = source.at(sourceMicroseconds, fire, entry.prompt);
  };

  const at: Clock['at'] = (atMicroseconds, callback, prompt = false) => {
    const entry: Waiting = { atMicroseconds, callback, prompt, cancel: () => undefined };
    arm(entry);
    waiting.add(entry);
    return () => {
      waiting.delete(entry);
      entry.cancel();
    };
  };

  return {
    get segment() {
      return segment;
    },
    now,
    at,
    after: (delayMicroseconds, callback) => at(now() + Math.max(0, delayMicroseconds), callback),
    toTrialTime,
    beginSegment(reason, beginsAtMicroseconds) {
      if (beginsAtMicroseconds < now()) {
        throw new RangeError(`a segment cannot begin at ${beginsAtMicroseconds} µs: it is ${now()} µs already`);
      }
      for (const entry of waiting) entry.cancel();
      segment = makeSegment(segment.segment + 1, reason, beginsAtMicroseconds);
      made.push(segment);
      // In the order of insertion, which decides between equal times.
      for (const entry of waiting) arm(entry);
      return segment;
    },
  };
}
