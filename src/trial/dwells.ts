import type { Step } from '../series/schedule.ts';
import { endMoving, giveStepCue } from './cues.ts';
import { requestPort } from './ports.ts';
import { changePhase, copyMachine, record } from './work.ts';
import type { Work } from './work.ts';

/** Ends the dwell under way as complete and begins the step after it, planned for a given moment. */
export function advance(work: Work, plannedAtMicroseconds: number): void {
  const { state } = work;
  endDwell(work, true, 'its time was over');
  state.cursor = { step: state.cursor.then ?? state.cursor.step + 1, then: null, recovering: false };
  beginStep(work, plannedAtMicroseconds);
}

/** Begins the step at the cursor; closes the trial when the schedule is done. */
export function beginStep(work: Work, plannedAtMicroseconds: number): void {
  const { state, schedule } = work;
  const step = schedule.steps[state.cursor.step];
  if (step === undefined) {
    finish(work, 'the series is complete');
    return;
  }
  countAttempt(work, step);
  const number = state.nextDwell;
  state.nextDwell += 1;
  const firstDeadline = plannedAtMicroseconds + step.durationMicroseconds;
  state.dwell = {
    dwell: number,
    step: step.step,
    plannedAtMicroseconds,
    deadlineMicroseconds: plannedAtMicroseconds + step.longestMicroseconds,
    lengthenedMicroseconds: 0,
    cuesGiven: 0,
    entry: step.stage === 'entry' ? { judgeAtMicroseconds: firstDeadline, asked: false, final: false } : null,
  };
  record(work, {
    kind: 'dwell-began',
    atMicroseconds: state.nowMicroseconds,
    dwell: {
      dwell: number,
      step: step.step,
      stage: step.stage,
      purpose: step.purpose,
      port: step.port,
      probe: step.probe,
      exercise: step.exercise,
      dwellPosition: step.dwellPosition,
      attempt: step.stage === 'exercise' && step.exerciseIndex !== null ? (state.attempts[step.exerciseIndex] ?? 0) : 0,
    },
    plannedAtMicroseconds,
    machine: copyMachine(state),
  });
  requestPort(work, number, step.port, 1);
  announceBroken(work, step);
  passCuesAtBeginning(work, step);
}

/** The first step of an exercise counts an attempt, unless it is done again after a hold. */
function countAttempt(work: Work, step: Step): void {
  const { state, schedule } = work;
  if (step.exerciseIndex === null || state.cursor.recovering) return;
  const exercise = schedule.exercises[step.exerciseIndex];
  if (exercise === undefined || step.step !== (exercise.zeroStep ?? exercise.firstProbeStep)) return;
  state.attempts[step.exerciseIndex] = (state.attempts[step.exerciseIndex] ?? 0) + 1;
}

/** Without a lead-in to repeat, a broken dwell is begun again by its own cue. */
function announceBroken(work: Work, step: Step): void {
  if (step.purpose !== 'probe' || step.exerciseIndex === null || work.state.moving !== null) return;
  if (step.cues.some((cue) => cue.cue === 'begin')) return;
  giveStepCue(work, step, 'begin', work.schedule.exercises[step.exerciseIndex]?.beginText ?? '');
}

function passCuesAtBeginning(work: Work, step: Step): void {
  const { dwell, nowMicroseconds } = work.state;
  if (dwell === null) return;
  for (const cue of step.cues.slice(dwell.cuesGiven)) {
    if (cue.offsetMicroseconds > 0 || dwell.plannedAtMicroseconds > nowMicroseconds) return;
    dwell.cuesGiven += 1;
    giveStepCue(work, step, cue.cue, cue.text);
  }
}

/** The dwell under way ends now; nothing happens when there is none. */
export function endDwell(work: Work, complete: boolean, reason: string): void {
  const { state } = work;
  if (state.dwell === null) return;
  const atMicroseconds = state.nowMicroseconds;
  const { dwell } = state.dwell;
  // A dwell that is cut short gave the valve no time to answer: that is no fault of the valve.
  if (complete && state.request !== null && state.request.dwell === dwell && state.request.status === 'requested') {
    const detail = 'no answer before the dwell ended';
    record(work, { kind: 'port-unconfirmed', atMicroseconds, dwell, port: state.request.port, detail });
  }
  state.request = null;
  record(work, { kind: 'dwell-ended', atMicroseconds, dwell, complete, reason });
  state.dwell = null;
}

/** Cuts short the dwell, the rest and the exercise under way. @returns whether the subject was moving. */
export function breakOff(work: Work, reason: string): boolean {
  endDwell(work, false, reason);
  work.state.restLengthenedMicroseconds = 0;
  return endMoving(work, false);
}

/** Closes the trial: nothing follows. */
export function finish(work: Work, reason: string): void {
  const { state } = work;
  state.held = null;
  state.request = null;
  changePhase(work, 'closed', reason);
  work.effects.push({ effect: 'finished' });
}
