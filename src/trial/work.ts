import type { TrialEvent, TrialPhase } from '../model/trial-event.ts';
import type { Schedule } from '../series/schedule.ts';
import type { TrialEffect } from './machine-seam.ts';
import type { TrialMachine } from './machine-state.ts';

/** A transition under way: a private copy of the state, and the effects so far. */
export interface Work {
  readonly state: TrialMachine;
  readonly schedule: Schedule;
  readonly effects: TrialEffect[];
}

/** Time never runs backwards: an input from before counts as of now, one without a time as well. */
export function moveClock(work: Work, atMicroseconds: number): void {
  const at = Math.trunc(atMicroseconds);
  if (Number.isSafeInteger(at) && at > work.state.nowMicroseconds) work.state.nowMicroseconds = at;
}

export function changePhase(work: Work, to: TrialPhase, reason: string): void {
  const { state } = work;
  const from = state.phase;
  state.phase = to;
  const atMicroseconds = state.nowMicroseconds;
  record(work, { kind: 'phase-changed', atMicroseconds, from, to, reason, machine: copyMachine(state) });
}

export function record(work: Work, event: TrialEvent): void {
  work.effects.push({ effect: 'record', event });
}

/** An independent copy: what is recorded or handed out never changes afterwards. */
export function copyMachine(state: TrialMachine): TrialMachine {
  const { dwell } = state;
  return {
    ...state,
    cursor: { ...state.cursor },
    dwell: dwell === null ? null : { ...dwell, entry: dwell.entry === null ? null : { ...dwell.entry } },
    request: state.request === null ? null : { ...state.request },
    attempts: [...state.attempts],
    moving: state.moving === null ? null : { ...state.moving },
  };
}
