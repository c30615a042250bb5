import type { ExerciseView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import type { Movement } from '../../src/model/series.ts';
import { subjectWords } from '../words/subject.ts';

/** A movement in its beat, from a moment of the trial on. */
export interface Beat {
  readonly fromMicroseconds: number;
  readonly perMinute: number;
}

/** What the subject's display shows. Never a leakage, a heart rate or an alarm. */
export interface SubjectView {
  readonly kind: 'wait' | 'rest' | 'move' | 'paused' | 'stopped' | 'over';
  readonly title: string;
  readonly how: string;
  /** Trial time at which what goes on ends, µs; null where that is not known. */
  readonly untilMicroseconds: number | null;
  readonly movement: Movement | null;
  /** Null: no beat is given, the figure stands still. */
  readonly beat: Beat | null;
  readonly next: { readonly title: string; readonly more: string; readonly movement: Movement | null } | null;
  readonly mayStop: boolean;
}

const waiting = { movement: 'stand', beat: null, next: null } as const;

export function subjectView(trial: TrialSnapshot | null): SubjectView {
  if (trial === null) {
    const { wait: title, notBegun: how } = subjectWords;
    return { ...waiting, kind: 'wait', title, how, untilMicroseconds: null, mayStop: false };
  }
  const { now } = trial;
  const mayStop = trial.allowed.includes('stop');
  const common = { ...waiting, untilMicroseconds: now.untilMicroseconds, mayStop };
  const exercise = trial.exercises.find((one) => one.exercise === now.exercise) ?? null;
  switch (now.kind) {
    case 'prepared':
      return { ...common, kind: 'wait', title: subjectWords.ready, how: subjectWords.readyMore };
    case 'background':
      return { ...common, kind: 'wait', title: subjectWords.wait, how: subjectWords.background };
    case 'waiting':
      return { ...common, kind: 'wait', title: subjectWords.wait, how: subjectWords.steady, next: nextOf(trial) };
    case 'rest':
      return { ...common, kind: 'rest', title: subjectWords.rest, how: subjectWords.restMore, next: nextOf(trial) };
    case 'lead-in':
    case 'exercise':
      return { ...common, kind: 'move', ...movingOf(exercise), next: nextOf(trial) };
    case 'closing':
      return { ...common, kind: 'rest', title: subjectWords.closing, how: subjectWords.closingMore };
    case 'held':
      return { ...common, kind: 'paused', title: subjectWords.held, how: subjectWords.heldMore };
    case 'stopped':
      return { ...common, kind: 'stopped', title: subjectWords.stopped, how: subjectWords.stoppedMore };
    case 'closed': {
      // Whoever was stopped has not finished: they are told what to do, not thanked.
      const wasStopped = trial.exercises.some(({ state }) => state === 'to-come' || state === 'skipped');
      return wasStopped
        ? { ...common, kind: 'stopped', title: subjectWords.stopped, how: subjectWords.stoppedMore }
        : { ...common, kind: 'over', title: subjectWords.over, how: subjectWords.overMore };
    }
  }
}

function movingOf(exercise: ExerciseView | null): Pick<SubjectView, 'title' | 'how' | 'movement' | 'beat'> {
  const began = exercise?.beganAtMicroseconds ?? null;
  const perMinute = exercise?.cadencePerMinute ?? null;
  return {
    title: exercise?.name ?? '',
    how: exercise?.instruction ?? '',
    movement: exercise?.movement ?? null,
    beat: began === null || perMinute === null ? null : { fromMicroseconds: began, perMinute },
  };
}

function nextOf(trial: TrialSnapshot): SubjectView['next'] {
  const { kind, exercise, seconds } = trial.next;
  const named = trial.exercises.find((one) => one.exercise === exercise);
  switch (kind) {
    case 'exercise':
      return {
        title: named?.name ?? '',
        more: seconds === null ? '' : subjectWords.nextSeconds(seconds),
        movement: named?.movement ?? null,
      };
    case 'rest':
      return {
        title: subjectWords.rest,
        more: seconds === null ? '' : subjectWords.nextRest(seconds),
        movement: 'stand',
      };
    case 'closing':
      return { title: subjectWords.closing, more: subjectWords.closingMore, movement: 'stand' };
    case 'background':
    case 'waiting':
      return { title: subjectWords.wait, more: '', movement: 'stand' };
    case 'end':
      return { title: subjectWords.lastOne, more: '', movement: 'stand' };
  }
}

/** Beats since the first movement; negative before it. */
export function beatsAt({ fromMicroseconds, perMinute }: Beat, atMicroseconds: number): number {
  return ((atMicroseconds - fromMicroseconds) / 60e6) * perMinute;
}

/** Whole seconds that are left, as they are shown: 1 until the very end. */
export function secondsLeft(untilMicroseconds: number, atMicroseconds: number): number {
  return Math.max(0, Math.ceil((untilMicroseconds - atMicroseconds) / 1e6));
}

/** What is to be heard: beats in two pitches by turns, a tick for each of the last three seconds, and the end. */
export interface Cue {
  readonly atMicroseconds: number;
  readonly sound: 'first-beat' | 'second-beat' | 'tick' | 'end';
}

/**
 * Everything to be heard in [from, to), in order. Nothing after the end of what goes on.
 * @param fromMicroseconds, toMicroseconds trial time, µs
 */
export function cuesBetween(view: SubjectView, fromMicroseconds: number, toMicroseconds: number): Cue[] {
  const { beat, untilMicroseconds: until } = view;
  const cues: Cue[] = [];
  const within = (at: number): boolean => at >= fromMicroseconds && at < toMicroseconds;
  if (view.kind === 'move' && beat !== null) {
    const first = Math.max(0, Math.ceil(beatsAt(beat, fromMicroseconds)));
    for (let number = first; ; number += 1) {
      const at = Math.round(beat.fromMicroseconds + (number * 60e6) / beat.perMinute);
      if (at >= toMicroseconds || (until !== null && at >= until)) break;
      if (within(at)) cues.push({ atMicroseconds: at, sound: number % 2 === 0 ? 'first-beat' : 'second-beat' });
    }
  }
  if (until !== null && (view.kind === 'move' || view.kind === 'rest')) {
    for (const seconds of [3, 2, 1, 0]) {
      const at = until - seconds * 1e6;
      if (within(at)) cues.push({ atMicroseconds: at, sound: seconds === 0 ? 'end' : 'tick' });
    }
  }
  return cues.sort((one, other) => one.atMicroseconds - other.atMicroseconds);
}
