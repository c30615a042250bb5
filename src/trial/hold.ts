import type { TrialInput } from './machine-seam.ts';
import type { TrialMachine } from './machine-state.ts';
import { giveCue } from './cues.ts';
import { breakOff } from './dwells.ts';
import { parkValve } from './ports.ts';
import { changePhase, moveClock } from './work.ts';
import type { Work } from './work.ts';

/** Breaks off what is under way, parks the valve and waits for a person. */
export function holdNow(work: Work, held: NonNullable<TrialMachine['held']>, reason: string): void {
  const { state } = work;
  state.cursor = cursorAfterBreak(work);
  const wasMoving = breakOff(work, reason);
  state.held = held;
  changePhase(work, 'held', reason);
  if (wasMoving) tellToRest(work);
  parkValve(work);
}

function tellToRest(work: Work): void {
  const { state, schedule } = work;
  const exercise = schedule.steps[state.cursor.step]?.exercise ?? null;
  giveCue(work, 'rest', exercise, 'Stop moving and rest. We go on in a moment.');
}

/** A broken probe dwell is done again after a fresh lead-in; any other broken step begins again itself. */
function cursorAfterBreak(work: Work): TrialMachine['cursor'] {
  const { cursor, dwell } = work.state;
  if (dwell === null) return cursor;
  const step = work.schedule.steps[cursor.step];
  const zeroStep = step?.exerciseIndex == null ? null : (work.schedule.exercises[step.exerciseIndex]?.zeroStep ?? null);
  if (step?.purpose === 'probe' && zeroStep !== null) return { step: zeroStep, then: cursor.step, recovering: true };
  return { step: cursor.step, then: cursor.then, recovering: true };
}

/**
 * A break of time inside the background parts zeros from the probes that are held against them, so the whole set is
 * taken again: a hold inside one stretch of time costs only the broken dwell.
 */
function beginBackgroundAgain(work: Work): void {
  const { state, schedule } = work;
  if (schedule.steps[state.cursor.step]?.stage !== 'background') return;
  const first = schedule.steps.findIndex((step) => step.stage === 'background');
  state.cursor = { step: first, then: null, recovering: true };
}

/** After the loss of the host: held as of the moment of loss; wherever the valve is by now, it is parked. */
export function interrupt(work: Work, input: Extract<TrialInput, { input: 'interrupted' }>): void {
  const { state } = work;
  moveClock(work, Math.min(input.lostAtMicroseconds, input.atMicroseconds));
  if (state.phase === 'running') {
    state.cursor = cursorAfterBreak(work);
    beginBackgroundAgain(work);
    const wasMoving = breakOff(work, input.reason);
    state.held = 'interrupted';
    changePhase(work, 'held', input.reason);
    moveClock(work, input.atMicroseconds);
    if (wasMoving) tellToRest(work);
  }
  if (state.phase === 'held') beginBackgroundAgain(work);
  moveClock(work, input.atMicroseconds);
  state.request = null;
  if (state.phase === 'held' || state.phase === 'stopped') parkValve(work);
}
