import type { TrialSnapshot } from '../../../bridge/trial-snapshot.ts';
import type { Schedule, Step } from '../../../series/schedule.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';

/** A step with the time that it has on the plan, µs of trial time, if nobody holds from now on. */
export interface TimedStep {
  readonly step: Step;
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
}

export interface Upcoming {
  /** The step under way; null when none is. */
  readonly current: TimedStep | null;
  /** Everything after it, in order. While held or prepared, from now on. */
  readonly following: readonly TimedStep[];
}

/** What is planned from now on. Nothing after stop and close. Waiting for the challenge takes its shortest time. */
export function upcoming(machine: TrialMachine, schedule: Schedule, nowMicroseconds: number): Upcoming {
  const { cursor, dwell, phase } = machine;
  if (phase === 'stopped' || phase === 'closed') return { current: null, following: [] };
  const at = schedule.steps[cursor.step];
  const running = phase === 'running' && dwell !== null && at !== undefined;
  const current = running
    ? {
        step: at,
        fromMicroseconds: dwell.plannedAtMicroseconds,
        toMicroseconds:
          dwell.entry === null
            ? dwell.deadlineMicroseconds
            : Math.max(nowMicroseconds, dwell.plannedAtMicroseconds + at.durationMicroseconds),
      }
    : null;
  const following: TimedStep[] = [];
  let from = current?.toMicroseconds ?? nowMicroseconds;
  const add = (step: Step | undefined): void => {
    if (step === undefined) return;
    following.push({ step, fromMicroseconds: from, toMicroseconds: from + step.durationMicroseconds });
    from += step.durationMicroseconds;
  };
  // Held with a challenge that is not steady, going on means going on without it.
  const passed = running || machine.held === 'challenge-unsteady';
  if (!passed) add(at);
  const next = cursor.then ?? cursor.step + 1;
  for (const step of schedule.steps.slice(next)) add(step);
  return { current, following };
}

/** The planned dwells as a window shows them, at most `most`. */
export function plannedDwells(steps: readonly TimedStep[], most = 12): TrialSnapshot['planned'] {
  return steps.slice(0, most).map(({ step, fromMicroseconds, toMicroseconds }) => ({
    probe: step.probe,
    port: step.port,
    purpose: step.purpose,
    exercise: step.exercise,
    fromMicroseconds: Math.round(fromMicroseconds),
    toMicroseconds: Math.round(toMicroseconds),
  }));
}
