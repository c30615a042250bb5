import type { Timers } from '../../device/timers.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { toMicroseconds } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';

/** How long the rehearsal's operator waits before going on after a hold, s. */
export const goOnAfterSeconds = 5;
/** A trial that is held more often than this will not end well by going on. */
export const mostHolds = 20;

export interface HoldWatchOptions {
  readonly trial: string;
  /** A clock that does not leap when a new time segment begins. */
  readonly timers: Timers;
  /** Goes on, if the trial is held still. */
  readonly goOn: () => void;
  /** Closes a trial that was stopped, by the subject. */
  readonly close: () => void;
  readonly onGivenUp: (error: ChambersideError) => void;
}

/** The operator of a rehearsal: goes on some time after every hold, but not for ever, and closes what was stopped. */
export function watchHolds(options: HoldWatchOptions): (event: TrialEvent) => void {
  let holds = 0;
  return (event) => {
    if (event.kind !== 'phase-changed') return;
    if (event.to === 'stopped') options.timers.after(toMicroseconds(goOnAfterSeconds), options.close);
    if (event.to !== 'held') return;
    holds += 1;
    if (holds > mostHolds) {
      options.onGivenUp(
        new ChambersideError(
          'trial-not-finished',
          `the trial was held ${holds} times, at last because: ${event.reason}`,
          options.trial,
          'Put right what holds it, then go on with it: --resume.',
        ),
      );
      return;
    }
    options.timers.after(toMicroseconds(goOnAfterSeconds), options.goOn);
  };
}
