import type { TrialSnapshot } from '../../../bridge/trial-snapshot.ts';
import type { Series } from '../../../model/series.ts';
import type { Schedule, Step } from '../../../series/schedule.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';
import type { AirView } from './air.ts';
import type { TrialStory } from './trial-story.ts';
import type { TimedStep, Upcoming } from './upcoming.ts';

export type NowView = TrialSnapshot['now'];
export type NextView = TrialSnapshot['next'];

export interface NowInput {
  readonly machine: TrialMachine;
  readonly schedule: Schedule;
  readonly series: Series;
  readonly story: Pick<TrialStory, 'dwells' | 'exercises' | 'phaseSinceMicroseconds'>;
  readonly upcoming: Upcoming;
  readonly nowMicroseconds: number;
  readonly air: AirView;
}

/** What happens now, and until when. */
export function nowView(input: NowInput): NowView {
  const { machine, story, upcoming } = input;
  const { current } = upcoming;
  if (machine.phase !== 'running' || current === null) return standing(input);
  const { step } = current;
  const { dwell } = machine;
  const [kind, since, until] = stretch(input, current);
  return {
    kind,
    stage: step.stage,
    exercise: step.exercise,
    sinceMicroseconds: Math.round(since ?? story.phaseSinceMicroseconds),
    untilMicroseconds: until === null ? null : Math.round(until),
    port: step.port,
    probe: step.probe,
    purpose: step.purpose,
    ...input.air,
    dwellUntilMicroseconds: dwell === null || dwell.entry !== null ? null : dwell.deadlineMicroseconds,
    lengthenedMicroseconds: machine.restLengthenedMicroseconds,
  };
}

/** Not running: prepared, held, stopped or closed. */
function standing(input: NowInput): NowView {
  const { machine, schedule, story } = input;
  const step = schedule.steps[machine.cursor.step];
  const going = machine.phase === 'held' || machine.phase === 'prepared';
  return {
    kind: machine.phase === 'running' ? 'waiting' : machine.phase,
    stage: machine.phase === 'held' ? (step?.stage ?? null) : null,
    exercise: going ? (step?.exercise ?? null) : null,
    sinceMicroseconds: Math.round(story.phaseSinceMicroseconds),
    untilMicroseconds: null,
    port: machine.request?.port ?? null,
    probe: null,
    purpose: null,
    air: 'none',
    usableFromMicroseconds: null,
    dwellUntilMicroseconds: null,
    lengthenedMicroseconds: 0,
  };
}

/** Kind, beginning and end of what goes on. */
function stretch(input: NowInput, current: TimedStep): readonly [NowView['kind'], number | null, number | null] {
  const { step } = current;
  switch (step.stage) {
    case 'background':
      return ['background', firstOf(input, step), lastEnd(input, current, (other) => other.stage === 'background')];
    case 'entry':
      return ['waiting', current.fromMicroseconds, null];
    case 'closing':
      return ['closing', firstOf(input, step), lastEnd(input, current, (other) => other.stage === 'closing')];
    case 'rest':
      return ['rest', current.fromMicroseconds, movementAfter(input, current)];
    case 'exercise': {
      const ofSame = (other: Step): boolean => other.exercise === step.exercise && other.purpose === 'probe';
      if (step.purpose === 'probe') {
        return ['exercise', firstOf(input, step), lastEnd(input, current, ofSame)];
      }
      const begins = movementIn(current);
      if (begins !== null && input.nowMicroseconds < begins) {
        const before = input.story.dwells.at(-2);
        const rested = before?.stage === 'rest' && before.exercise === step.exercise;
        return ['rest', rested ? before.plannedAtMicroseconds : current.fromMicroseconds, begins];
      }
      // The subject moves already: what counts down is the exercise, the lead-in is part of it.
      return ['lead-in', begins ?? current.fromMicroseconds, lastEnd(input, current, ofSame)];
    }
  }
}

/** Planned beginning of the first of the dwells before this one that belong to the same stretch. */
function firstOf(input: NowInput, step: Step): number | null {
  let since: number | null = null;
  for (const dwell of [...input.story.dwells].reverse()) {
    const same = dwell.stage === step.stage && dwell.exercise === step.exercise;
    const alike = step.stage !== 'exercise' || dwell.purpose === step.purpose;
    if (!same || !alike) break;
    since = dwell.plannedAtMicroseconds;
  }
  return since;
}

/** End of the last of the following steps without a break that are alike. */
function lastEnd(input: NowInput, current: TimedStep, alike: (step: Step) => boolean): number {
  let end = current.toMicroseconds;
  for (const timed of input.upcoming.following) {
    if (!alike(timed.step)) break;
    end = timed.toMicroseconds;
  }
  return end;
}

/** When the subject begins to move in this step; null when not in it. */
function movementIn(timed: TimedStep): number | null {
  const cue = timed.step.cues.find((candidate) => candidate.cue === 'begin');
  if (cue === undefined) return null;
  // From the end: what a person added to the rest lies before the movement.
  return timed.toMicroseconds - (timed.step.durationMicroseconds - cue.offsetMicroseconds);
}

function movementAfter(input: NowInput, current: TimedStep): number {
  for (const timed of input.upcoming.following) {
    const begins = movementIn(timed);
    if (begins !== null) return begins;
    if (timed.step.stage !== 'rest') break;
  }
  return current.toMicroseconds;
}

/** What comes after what happens now. */
export function nextView(input: NowInput, now: NowView): NextView {
  const { following } = input.upcoming;
  const end: NextView = { kind: 'end', exercise: null, seconds: null };
  const durationOf = (exercise: string | null): number | null =>
    input.series.exercises.find((candidate) => candidate.exercise === exercise)?.durationSeconds ?? null;
  const restOf = (exercise: string | null): number | null =>
    input.series.exercises.find((candidate) => candidate.exercise === exercise)?.restSeconds ?? null;
  switch (now.kind) {
    case 'stopped':
    case 'closed':
    case 'closing':
      return end;
    case 'rest':
      return { kind: 'exercise', exercise: now.exercise, seconds: durationOf(now.exercise) };
    case 'prepared':
    case 'held':
      return describe(following[0]?.step);
    case 'background':
      return describe(following.find(({ step }) => step.stage !== 'background')?.step);
    case 'waiting':
      return describe(following.find(({ step }) => step.stage !== 'entry')?.step);
    case 'lead-in':
    case 'exercise':
      return describe(following.find(({ step }) => step.exercise !== now.exercise)?.step);
  }

  function describe(step: Step | undefined): NextView {
    if (step === undefined) return end;
    const { exercise } = step;
    switch (step.stage) {
      case 'background':
        return { kind: 'background', exercise: null, seconds: null };
      case 'entry':
        return { kind: 'waiting', exercise: null, seconds: null };
      case 'rest':
        return { kind: 'rest', exercise, seconds: restOf(exercise) };
      case 'exercise':
        return { kind: 'exercise', exercise, seconds: durationOf(exercise) };
      case 'closing':
        return { kind: 'closing', exercise: null, seconds: null };
    }
  }
}
