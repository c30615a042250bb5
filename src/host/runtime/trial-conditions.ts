import { challengeChangePercent } from '../../leakage/provisional.ts';
import type { ProvisionalState } from '../../leakage/provisional.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { HostAlarm } from '../../safety/alarm-catalogue.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';

/** Causes of alarms that lie in the trial itself and not in the values of a stream. */
export interface TrialConditions {
  /** How many of them are watched, those of the session and the host included. */
  readonly count: number;
  follow(event: TrialEvent): void;
  judge(machine: TrialMachine, state: ProvisionalState): void;
}

export interface TrialConditionsOptions {
  readonly rig: Rig;
  readonly method: Method;
  readonly observe: (alarm: HostAlarm, instrument: string | null, standing: boolean, detail: string) => void;
}

/** Valve unconfirmed, commit late, disk refused, window lost, time lost. */
const watchedElsewhere = 5;

export function watchConditions(options: TrialConditionsOptions): TrialConditions {
  const { method, observe, rig } = options;
  return {
    // Each cable, and the challenge in two ways.
    count: rig.instruments.length + 2 + watchedElsewhere,
    follow(event) {
      if (event.kind !== 'problem') return;
      const { code, detail, instrument } = event.problem;
      if (code === 'connection-lost') observe('connection-lost', instrument, true, detail);
      if (code === 'connection-restored') observe('connection-lost', instrument, false, detail);
    },
    judge(machine, state) {
      const unsteady = machine.held === 'challenge-unsteady';
      const detail = unsteady
        ? 'The challenge did not become steady in the time allowed.'
        : 'It is no longer waited for.';
      observe('challenge-unsteady', null, unsteady, detail);
      const change = challengeChangePercent(state);
      const moved = change !== null && Math.abs(change) > method.challengeChangePercent;
      const limit = `the method allows ${method.challengeChangePercent} %`;
      observe('challenge-changed', null, moved, `Challenge changed by ${(change ?? 0).toFixed(0)} %; ${limit}.`);
    },
  };
}
