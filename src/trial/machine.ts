import type { Schedule, ScheduledCue } from '../series/schedule.ts';
import { act } from './actions.ts';
import { askForJudgement, judge } from './challenge.ts';
import { giveStepCue } from './cues.ts';
import { advance } from './dwells.ts';
import { holdNow, interrupt } from './hold.ts';
import type { Transition, TrialInput } from './machine-seam.ts';
import type { TrialMachine } from './machine-state.ts';
import { acknowledge, doubtPort, retryWhenDue } from './ports.ts';
import { copyMachine, moveClock } from './work.ts';
import type { Work } from './work.ts';

/** A switch or cue that comes later than this is a broken dwell: the trial is held, µs. */
export const latestMicroseconds = 2_000_000;

/**
 * One move of a trial: (state, input) → state and effects, pure and total. The input state is left as it was.
 * The schedule must be the one the state was prepared for.
 *
 * Time: a step ends at its planned beginning plus its duration, and the next is planned for that moment however
 * late the call came, so lateness never adds up. After start, hold, repeat and skip, and when the challenge is found
 * steady, the plan begins anew at that moment. A rest that is lengthened moves all that follows by as much. When
 * something due is more than `latestMicroseconds` late (the program did not run) the trial is held.
 *
 * Hold parks the valve on filtered air and tells the subject to rest; an exercise is recorded as ended, and as
 * begun again with the same attempt number when the trial goes on with a fresh lead-in and the broken dwell.
 */
export function next(state: TrialMachine, input: TrialInput, schedule: Schedule): Transition {
  const work: Work = { state: copyMachine(state), schedule, effects: [] };
  if (input.input === 'interrupted') {
    interrupt(work, input);
  } else {
    moveClock(work, input.atMicroseconds);
    // A stop waits for nothing, not even for what was due.
    if (!(input.input === 'action' && input.action === 'stop')) passTime(work);
    react(work, input);
  }
  work.effects.push({ effect: 'wake-at', atMicroseconds: wakeTime(work) });
  return { state: work.state, effects: work.effects };
}

function react(work: Work, input: Exclude<TrialInput, { input: 'interrupted' }>): void {
  switch (input.input) {
    case 'time':
      return;
    case 'action':
      act(work, input);
      return;
    case 'port-acknowledged':
      acknowledge(work, input.request);
      return;
    case 'port-unconfirmed':
      doubtPort(work, input.request, input.detail);
      return;
    case 'challenge-judged':
      judge(work, input);
  }
}

/** Everything that is due by now, in order. */
function passTime(work: Work): void {
  const { state } = work;
  retryWhenDue(work);
  while (state.phase === 'running' && state.dwell !== null) {
    const { dwell } = state;
    const step = work.schedule.steps[dwell.step];
    if (step === undefined) return;
    const cue = step.cues[dwell.cuesGiven];
    const cueAt = cue === undefined ? Number.POSITIVE_INFINITY : cueTime(dwell, cue);
    const entry = dwell.entry;
    const due = Math.min(cueAt, entry === null ? dwell.deadlineMicroseconds : entry.judgeAtMicroseconds);
    if (due > state.nowMicroseconds) return;
    // Waiting for the challenge has no moment that could be missed.
    if (entry === null && state.nowMicroseconds - due > latestMicroseconds) {
      const seconds = ((state.nowMicroseconds - due) / 1_000_000).toFixed(1);
      holdNow(work, 'late', `the program came ${seconds} s late to a switch or cue`);
      return;
    }
    if (cue !== undefined && cueAt <= due) {
      dwell.cuesGiven += 1;
      giveStepCue(work, step, cue.cue, cue.text);
    } else if (entry !== null) {
      askForJudgement(work);
      return;
    } else {
      advance(work, dwell.deadlineMicroseconds);
    }
  }
}

/** When a cue of the dwell under way that has not been given is due. What was added to a rest lies before it. */
function cueTime(dwell: NonNullable<TrialMachine['dwell']>, cue: ScheduledCue): number {
  return dwell.plannedAtMicroseconds + cue.offsetMicroseconds + dwell.lengthenedMicroseconds;
}

function wakeTime(work: Work): number | null {
  const { state, schedule } = work;
  const times: number[] = [];
  const retryAt = state.request?.retryAtMicroseconds;
  if (typeof retryAt === 'number') times.push(retryAt);
  if (state.phase === 'running' && state.dwell !== null) {
    const { dwell } = state;
    const cue = schedule.steps[dwell.step]?.cues[dwell.cuesGiven];
    if (cue !== undefined) times.push(cueTime(dwell, cue));
    times.push(dwell.entry === null ? dwell.deadlineMicroseconds : dwell.entry.judgeAtMicroseconds);
  }
  return times.length === 0 ? null : Math.min(...times);
}
