import type { TrialEvent } from '../model/trial-event.ts';
import type { Schedule } from '../series/schedule.ts';
import { trialMachineSchema } from './machine-state.ts';
import type { TrialMachine } from './machine-state.ts';
import { addToRest } from './rest.ts';
import { copyMachine } from './work.ts';

/**
 * The trial machine as the recorded events leave it: the last stored state, brought up to date by what was recorded
 * after it. Meant to be followed by the input `interrupted`; requests that were under way are forgotten.
 *
 * @param events of one trial, in order of recording.
 * @returns null when no event carries a readable state (the trial was never started).
 */
export function restoreMachine(events: readonly TrialEvent[], schedule: Schedule): TrialMachine | null {
  let machine: TrialMachine | null = null;
  for (const event of events) {
    const stored = storedMachine(event);
    if (stored !== null) {
      machine = stored;
      machine.request = null;
    } else if (machine !== null) {
      followRecorded(machine, event, schedule);
    }
  }
  return machine;
}

/** The state that an event carries, a copy; null when it carries none that can be read. */
export function storedMachine(event: TrialEvent): TrialMachine | null {
  if (event.kind !== 'phase-changed' && event.kind !== 'dwell-began') return null;
  const parsed = trialMachineSchema.safeParse(event.machine);
  return parsed.success ? copyMachine(parsed.data) : null;
}

/** Brings a state up to date by an event that carries none, in place. */
export function followRecorded(machine: TrialMachine, event: TrialEvent, schedule: Schedule): void {
  machine.nowMicroseconds = Math.max(machine.nowMicroseconds, event.atMicroseconds);
  switch (event.kind) {
    case 'cue':
      if (machine.dwell !== null && event.cue !== 'stop') followCue(machine, event.cue, schedule);
      return;
    case 'rest-lengthened':
      if (machine.dwell?.dwell === event.dwell) addToRest(machine, event.byMicroseconds);
      return;
    case 'exercise-began': {
      machine.restLengthenedMicroseconds = 0;
      const exerciseIndex = schedule.exercises.findIndex((exercise) => exercise.exercise === event.exercise);
      if (exerciseIndex >= 0) machine.moving = { exerciseIndex, attempt: event.attempt };
      return;
    }
    case 'exercise-ended':
      machine.moving = null;
      return;
    case 'dwell-ended':
      if (machine.dwell?.dwell !== event.dwell) return;
      machine.dwell = null;
      if (event.complete) {
        machine.cursor = { step: machine.cursor.then ?? machine.cursor.step + 1, then: null, recovering: false };
      }
      return;
    default:
      return;
  }
}

/** Counts a cue of the step under way as given. */
function followCue(machine: TrialMachine, cue: string, schedule: Schedule): void {
  const { dwell } = machine;
  if (dwell === null) return;
  if (schedule.steps[dwell.step]?.cues[dwell.cuesGiven]?.cue === cue) dwell.cuesGiven += 1;
}
