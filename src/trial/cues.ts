import type { CueName, Step } from '../series/schedule.ts';
import { record } from './work.ts';
import type { Work } from './work.ts';

/** Says something to the subject, and records that it was said. */
export function giveCue(work: Work, cue: CueName, exercise: string | null, text: string): void {
  work.effects.push({ effect: 'cue', cue, exercise, text });
  record(work, { kind: 'cue', atMicroseconds: work.state.nowMicroseconds, cue, exercise, text });
}

/** A cue of a step, with the beginning or end of the exercise that it announces. */
export function giveStepCue(work: Work, step: Step, cue: CueName, text: string): void {
  const { state } = work;
  giveCue(work, cue, step.exercise, text);
  if (cue === 'end') endMoving(work, true);
  // The rest is over.
  if (cue === 'begin') state.restLengthenedMicroseconds = 0;
  if (cue !== 'begin' || step.exercise === null || step.exerciseIndex === null || state.moving !== null) return;
  const attempt = state.attempts[step.exerciseIndex] ?? 0;
  state.moving = { exerciseIndex: step.exerciseIndex, attempt };
  record(work, { kind: 'exercise-began', atMicroseconds: state.nowMicroseconds, exercise: step.exercise, attempt });
}

/** Records that the subject stopped moving. @returns whether there was movement. */
export function endMoving(work: Work, complete: boolean): boolean {
  const { moving, nowMicroseconds: atMicroseconds } = work.state;
  if (moving === null) return false;
  const exercise = work.schedule.exercises[moving.exerciseIndex]?.exercise;
  work.state.moving = null;
  if (exercise === undefined) return false;
  record(work, { kind: 'exercise-ended', atMicroseconds, exercise, attempt: moving.attempt, complete });
  return true;
}
