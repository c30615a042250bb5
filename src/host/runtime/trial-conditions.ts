import { challengeChangePercent } from '../../leakage/provisional.ts';
import type { ProvisionalState } from '../../leakage/provisional.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { Reading } from '../../model/reading.ts';
import type { WatchedContact } from '../../safety/contacts.ts';
import type { HostAlarm } from '../../safety/alarm-catalogue.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import { guardDuties } from '../guard/duties.ts';

/** Causes of alarms that lie in the trial itself and not in the values of a stream. */
export interface TrialConditions {
  /** How many of them are watched, those of the session and the host included. */
  readonly count: number;
  follow(event: TrialEvent): void;
  observeReading(reading: Reading): void;
  /**
   * @param live what the readings show so far, and why the newest of them could not be computed with.
   * @param nowMicroseconds trial time.
   */
  judge(
    machine: TrialMachine,
    live: { readonly state: ProvisionalState; readonly failure: string | null },
    nowMicroseconds: number,
  ): void;
}

export interface TrialConditionsOptions {
  readonly rig: Rig;
  readonly method: Method;
  readonly contacts: readonly WatchedContact[];
  readonly observe: (alarm: HostAlarm, instrument: string | null, standing: boolean, detail: string) => void;
}

/** Somebody who slips in and closes the door behind them is no caution, µs. */
const doorMicroseconds = 1_000_000;

/** Valve unconfirmed, commit late, disk refused, window lost, time lost. */
const watchedElsewhere = 5;

export function watchConditions(options: TrialConditionsOptions): TrialConditions {
  const { contacts, method, observe, rig } = options;
  const doors = contacts.filter(({ part }) => part === 'door');
  const stops = contacts.filter(({ part }) => part === 'stop');
  /** Since when each door has been open, by instrument; null: it is closed, or was never heard. */
  const openSince = new Map<string, number | null>();

  const judgeDoors = (machine: TrialMachine, nowMicroseconds: number): void => {
    // Before the first exercise the subject comes in through it, and the challenge is waited for.
    const begun = machine.attempts.some((attempts) => attempts > 0);
    const matters = begun && (machine.phase === 'running' || machine.phase === 'held');
    for (const { instrument } of doors) {
      const since = openSince.get(instrument) ?? null;
      const open = since !== null && nowMicroseconds - since >= doorMicroseconds;
      const detail = open && matters ? 'The door is open: aerosol is lost.' : 'The door is closed again.';
      observe('door-open', instrument, open && matters, detail);
    }
  };

  return {
    // Each cable, the challenge in two ways, live values, each door; each stop, pressed; the guard where there is one.
    count:
      rig.instruments.length +
      3 +
      doors.length +
      stops.length +
      (guardDuties(rig).length > 0 ? 1 : 0) +
      watchedElsewhere,
    follow(event) {
      if (event.kind !== 'problem') return;
      const { code, detail, instrument } = event.problem;
      // That a stop is not heard is an alarm of its own, and the graver one.
      if (stops.some((stop) => stop.instrument === instrument)) return;
      if (code === 'connection-lost') observe('connection-lost', instrument, true, detail);
      if (code === 'connection-restored') observe('connection-lost', instrument, false, detail);
    },
    observeReading({ atMicroseconds, instrument, stream, value }) {
      if (!doors.some((door) => door.instrument === instrument && door.stream === stream)) return;
      if (value === 0) openSince.set(instrument, null);
      else if (openSince.get(instrument) == null) openSince.set(instrument, atMicroseconds);
    },
    judge(machine, { failure, state }, nowMicroseconds) {
      judgeDoors(machine, nowMicroseconds);
      const unsteady = machine.held === 'challenge-unsteady';
      const detail = unsteady
        ? 'The challenge did not become steady in the time allowed.'
        : 'It is no longer waited for.';
      observe('challenge-unsteady', null, unsteady, detail);
      const change = challengeChangePercent(state);
      const moved = change !== null && Math.abs(change) > method.challengeChangePercent;
      const limit = `the method allows ${method.challengeChangePercent} %`;
      const lost = failure === null ? 'Live values are computed again.' : `They cannot be computed: ${failure}.`;
      observe('live-values-lost', null, failure !== null, lost);
      observe('challenge-changed', null, moved, `Challenge changed by ${(change ?? 0).toFixed(0)} %; ${limit}.`);
    },
  };
}
