import type { TrialInput } from './machine-seam.ts';
import type { TrialMachine } from './machine-state.ts';
import { reconsiderPort } from './ports.ts';
import { record } from './work.ts';
import type { Work } from './work.ts';

type ActionInput = Extract<TrialInput, { input: 'action' }>;

/** What one press adds to a rest, µs. */
export const lengtheningMicroseconds = 30_000_000;

/** The most that can be added to one rest, µs. */
export const mostLengthenedMicroseconds = 600_000_000;

/** The exercise whose rest is under way: the subject has not been told to begin. Null outside a rest. */
function restingBefore({ state, schedule }: Work): string | null {
  const { dwell, phase } = state;
  const step = phase !== 'running' || dwell === null ? undefined : schedule.steps[dwell.step];
  if (dwell === null || step === undefined) return null;
  if (step.stage === 'rest') return step.exercise;
  // The zero that leads into an exercise is rest until its cue to begin.
  const toBegin = step.cues.slice(dwell.cuesGiven).some(({ cue }) => cue === 'begin');
  return step.stage === 'exercise' && step.purpose === 'zero' && toBegin ? step.exercise : null;
}

/** Why the rest cannot be lengthened now; null when it can. */
export function refusalToLengthen(work: Work, wanted: string | null): string | null {
  const exercise = restingBefore(work);
  if (exercise === null) return 'There is no rest now: a rest is lengthened before its exercise has begun.';
  if (wanted !== null && wanted !== exercise) return `The rest now is not the one before ${wanted}.`;
  if (work.state.restLengthenedMicroseconds + lengtheningMicroseconds > mostLengthenedMicroseconds) {
    const minutes = mostLengthenedMicroseconds / 60_000_000;
    return `This rest is ${minutes} minutes longer already, and more cannot be added to one. Hold for a longer break.`;
  }
  return null;
}

/** The dwell under way stays where it is for longer, and everything that the plan has after it moves as much. */
export function lengthenRest(work: Work, { person, note }: ActionInput): void {
  const { state } = work;
  const exercise = restingBefore(work);
  if (state.dwell === null || exercise === null) return;
  addToRest(state, lengtheningMicroseconds);
  record(work, {
    kind: 'rest-lengthened',
    atMicroseconds: state.nowMicroseconds,
    dwell: state.dwell.dwell,
    exercise,
    byMicroseconds: lengtheningMicroseconds,
    person,
    note,
  });
  reconsiderPort(work);
}

/** In place; nothing when no dwell is under way. */
export function addToRest(state: TrialMachine, byMicroseconds: number): void {
  if (state.dwell === null) return;
  state.dwell.lengthenedMicroseconds += byMicroseconds;
  state.dwell.deadlineMicroseconds += byMicroseconds;
  state.restLengthenedMicroseconds += byMicroseconds;
}
