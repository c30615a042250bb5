import type { TrialPhase } from '../model/trial-event.ts';
import type { Schedule } from '../series/schedule.ts';
import type { TrialAction, TrialInput } from './machine-seam.ts';
import type { TrialMachine } from './machine-state.ts';
import { giveCue } from './cues.ts';
import { beginStep, breakOff, finish } from './dwells.ts';
import { holdNow } from './hold.ts';
import { parkValve } from './ports.ts';
import { lengthenRest, refusalToLengthen } from './rest.ts';
import { changePhase, record } from './work.ts';
import type { Work } from './work.ts';

type ActionInput = Extract<TrialInput, { input: 'action' }>;

/** Does what a person asks, or says why not. */
export function act(work: Work, input: ActionInput): void {
  const { state } = work;
  const refusal = refusalOf(work, input);
  if (refusal !== null) {
    work.effects.push({ effect: 'refused', action: input.action, reason: refusal });
    return;
  }
  const { action, person, note } = input;
  if (action === 'extend-rest') {
    lengthenRest(work, input);
    return;
  }
  const source = input.source === undefined ? {} : { source: input.source };
  record(work, { kind: 'operator-action', atMicroseconds: state.nowMicroseconds, action, person, note, ...source });
  switch (action) {
    case 'mark':
      return;
    case 'start':
      run(work, 'started');
      return;
    case 'hold':
      holdNow(work, 'operator', note === '' ? 'held by the operator' : note);
      return;
    case 'go-on':
      goOn(work);
      return;
    case 'repeat':
      repeat(work, input.exercise);
      return;
    case 'skip':
      skip(work);
      return;
    case 'stop':
      stop(work, note === '' ? 'stopped' : note);
      return;
    case 'close':
      close(work, note === '' ? 'closed before its end' : note);
  }
}

const phasesOf: Record<TrialAction, readonly TrialPhase[]> = {
  start: ['prepared'],
  hold: ['running'],
  'go-on': ['held'],
  repeat: ['running', 'held'],
  skip: ['running', 'held'],
  'extend-rest': ['running'],
  stop: ['prepared', 'running', 'held'],
  close: ['prepared', 'held', 'stopped'],
  mark: ['prepared', 'running', 'held', 'stopped'],
};

/** Why an action is not possible now; null when it is. */
function refusalOf(work: Work, input: ActionInput): string | null {
  const { state, schedule } = work;
  if (input.action === 'extend-rest') return refusalToLengthen(work, input.exercise);
  const phases = phasesOf[input.action];
  if (!phases.includes(state.phase)) {
    const action = input.action.replace('-', ' ');
    return `The trial is ${state.phase}: to ${action} is possible when it is ${phases.join(' or ')}.`;
  }
  if (input.action !== 'repeat' && input.action !== 'skip') return null;
  const current = schedule.steps[state.cursor.step]?.exerciseIndex ?? null;
  if (input.action === 'skip') {
    if (current === null) return 'There is no exercise under way or next that could be skipped.';
    if (input.exercise === null || schedule.exercises[current]?.exercise === input.exercise) return null;
    return `${input.exercise} is not the exercise under way or next.`;
  }
  return exerciseToRepeat(work, input.exercise) === undefined
    ? `${input.exercise ?? ''} is neither the exercise under way or next nor the one before.`
    : null;
}

/** Index of the exercise that a repeat means; null for the step under way where no exercise is; undefined: none. */
function exerciseToRepeat(work: Work, wanted: string | null): number | null | undefined {
  const { steps, exercises } = work.schedule;
  const step = steps[work.state.cursor.step];
  const current = step?.exerciseIndex ?? null;
  if (wanted === null) return current;
  const index = exercises.findIndex((exercise) => exercise.exercise === wanted);
  if (index < 0) return undefined;
  const following = current ?? (step === undefined || step.stage === 'closing' ? exercises.length : undefined);
  if (following === undefined) return undefined;
  return index === following || index === following - 1 ? index : undefined;
}

/** The actions that would be accepted now, with no exercise named. */
export function possibleActions(state: TrialMachine, schedule: Schedule): TrialAction[] {
  const work: Work = { state, schedule, effects: [] };
  const asked = {
    input: 'action',
    atMicroseconds: state.nowMicroseconds,
    person: '',
    note: '',
    exercise: null,
  } as const;
  return (Object.keys(phasesOf) as TrialAction[]).filter((action) => refusalOf(work, { ...asked, action }) === null);
}

function run(work: Work, reason: string): void {
  const { state } = work;
  state.held = null;
  if (state.phase !== 'running') changePhase(work, 'running', reason);
  beginStep(work, state.nowMicroseconds);
}

function goOn(work: Work): void {
  const { state } = work;
  if (state.held === 'challenge-unsteady') {
    state.cursor = { step: state.cursor.step + 1, then: null, recovering: false };
    run(work, 'gone on with a challenge that is not steady');
    return;
  }
  run(work, 'gone on');
}

function repeat(work: Work, wanted: string | null): void {
  const { state, schedule } = work;
  const index = exerciseToRepeat(work, wanted);
  const exercise = typeof index === 'number' ? schedule.exercises[index] : undefined;
  breakOff(work, 'to be repeated');
  state.cursor = { step: exercise?.restStep ?? state.cursor.step, then: null, recovering: false };
  run(work, 'repeated');
}

function skip(work: Work): void {
  const { state, schedule } = work;
  const index = schedule.steps[state.cursor.step]?.exerciseIndex;
  breakOff(work, 'skipped');
  const exercise = typeof index === 'number' ? schedule.exercises[index] : undefined;
  state.cursor = { step: (exercise?.lastProbeStep ?? state.cursor.step) + 1, then: null, recovering: false };
  run(work, 'skipped');
}

/** The valve that was left on the reference is sent to filtered air; its answer is no longer part of the trial. */
function close(work: Work, reason: string): void {
  const { state } = work;
  const watching = state.held === 'challenge-unsteady';
  state.held = null;
  if (watching) parkValve(work);
  finish(work, reason);
}

function stop(work: Work, reason: string): void {
  const { state } = work;
  const exercise = work.schedule.steps[state.cursor.step]?.exercise ?? null;
  giveCue(work, 'stop', exercise, 'Stop. Keep moving gently or sit down; help is coming.');
  breakOff(work, reason);
  state.held = null;
  changePhase(work, 'stopped', reason);
  parkValve(work);
}
