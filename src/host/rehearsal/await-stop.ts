import type { Timers } from '../../device/timers.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { toMicroseconds } from '../../model/time.ts';
import type { TrialSession } from '../session/trial-session.ts';

/** How long the rehearsal's operator waits for a stop contact, and how often they look, s. */
const patienceSeconds = 10;
const lookSeconds = 0.05;

/**
 * Resolves when the subject can stop the trial by contact, or the rig has none.
 * @throws ChambersideError `action-refused` when a stop is not heard, or is pressed, for too long.
 */
export function awaitStop(session: Pick<TrialSession, 'stop'>, timers: Timers, trial: string): Promise<void> {
  if (session.stop === 'none') return Promise.resolve();
  return new Promise((resolve, reject) => {
    const look = (waitedSeconds: number): void => {
      if (session.stop === 'armed') {
        resolve();
      } else if (waitedSeconds >= patienceSeconds) {
        const what = `the subject's stop is ${session.stop === 'pressed' ? 'pressed' : 'not heard'}`;
        const remedy = 'Mend the stop contact in the scenario, or take it out of the rig.';
        reject(new ChambersideError('action-refused', what, trial, remedy));
      } else {
        timers.after(toMicroseconds(lookSeconds), () => look(waitedSeconds + lookSeconds));
      }
    };
    // What the instruments said when they were connected arrives first.
    timers.after(0, () => look(0));
  });
}
