import type { Cancel, Timers } from './timers.ts';

/** Watches that something keeps coming. One timer at a time, none per reading. */
export interface SilenceWatch {
  /** Starts the watch (a time on the clock of the stamps, µs) when it has never been started. */
  begin(atMicroseconds: number): void;
  /** Something came (its stamp, µs). Starts the watch when it is not running. */
  heard(atMicroseconds: number): void;
  /** Leaves no timer behind. */
  end(): void;
}

/**
 * Calls `onSilence` once when nothing was heard for `limitMicroseconds`, with the time at which the limit
 * was reached; then again only after something was heard.
 * @param options.beginsAtMicroseconds time from which to watch; undefined: from `begin` or `heard` on.
 */
export function createSilenceWatch(options: {
  readonly timers: Timers;
  /** > 0, µs. */
  readonly limitMicroseconds: number;
  readonly beginsAtMicroseconds: number | undefined;
  readonly onSilence: (atMicroseconds: number) => void;
}): SilenceWatch {
  const { timers, limitMicroseconds, onSilence } = options;
  let lastAt = 0;
  let cancel: Cancel | undefined;
  let started = false;
  let ended = false;

  const arm = (dueAt: number, delay: number): void => {
    cancel = timers.after(delay, () => {
      cancel = undefined;
      const nextDue = lastAt + limitMicroseconds;
      if (nextDue > dueAt) arm(nextDue, nextDue - dueAt);
      else onSilence(dueAt);
    });
  };

  const start = (atMicroseconds: number): void => {
    started = true;
    lastAt = atMicroseconds;
    arm(atMicroseconds + limitMicroseconds, limitMicroseconds);
  };

  if (options.beginsAtMicroseconds !== undefined) start(options.beginsAtMicroseconds);
  return {
    begin(atMicroseconds) {
      if (!started && !ended) start(atMicroseconds);
    },
    heard(atMicroseconds) {
      if (ended) return;
      if (cancel === undefined) start(atMicroseconds);
      else lastAt = atMicroseconds;
    },
    end() {
      ended = true;
      cancel?.();
      cancel = undefined;
    },
  };
}
