import { ChambersideError } from '../model/error-code.ts';
import { probePorts } from '../model/rig.ts';
import type { Rig } from '../model/rig.ts';
import type { Exercise, Series } from '../model/series.ts';
import type { DwellPurpose } from '../model/trial-event.ts';
import { compileSchedule } from './compile.ts';
import type { Schedule } from './schedule.ts';
import { predictUsableSeconds } from './usable.ts';
import type { UsableOptions } from './usable.ts';

/** Something to know about a series before it is run; none of it forbids to keep the series. */
export type SeriesRemark =
  /** The rig cannot run it at all. */
  | { readonly kind: 'not-for-rig'; readonly what: string; readonly where: string; readonly remedy: string }
  | { readonly kind: 'no-usable-air'; readonly purpose: DwellPurpose; readonly dwells: number }
  | { readonly kind: 'little-usable-air'; readonly purpose: DwellPurpose; readonly dwells: number }
  /** No dwell of any exercise has usable air of this probe. */
  | { readonly kind: 'never-seen'; readonly probe: string }
  /** Exercises without a reference, zero or lead-in before them. */
  | { readonly kind: 'no-reference' | 'no-zero' | 'no-lead-in'; readonly exercises: readonly string[] }
  /** A dwell sees less than one whole movement. */
  | { readonly kind: 'less-than-a-movement'; readonly exercises: readonly string[] }
  /** Zero and challenge are not read again for longer than `longestUnreferencedSeconds`. */
  | { readonly kind: 'long-unreferenced'; readonly exercises: readonly string[] }
  | { readonly kind: 'fixed-order' }
  /** Work above `hardWorkWatts`; less rest than `leastRestSeconds` after one exercise with work and before another. */
  | { readonly kind: 'hard-work' | 'short-rest'; readonly exercises: readonly string[] }
  /** With the longest entry. */
  | { readonly kind: 'very-long'; readonly insideSeconds: number };

/** Less usable air than this in a dwell is said before the trial, s. Common practice, no source. */
export const littleUsableSeconds = 3;
/** An exercise longer than this should be two, with a reference between them, s. Common practice, no source. */
export const longestUnreferencedSeconds = 600;
/** More time than this between entering and leaving is said, s. Common practice, no source. */
export const veryLongSeconds = 5400;

/** A higher work rate than this is said, W. Common practice, no source. */
export const hardWorkWatts = 300;
/** Less rest than this between two exercises with work is said, s. Common practice, no source. */
export const leastRestSeconds = 10;

const purposes: readonly DwellPurpose[] = ['probe', 'zero', 'reference', 'background'];

/**
 * What speaks against a series on a rig, in the order in which it should be read. Pure.
 * @param rig null: none is chosen; then only what holds on every rig is said.
 */
export function seriesRemarks(series: Series, rig: Rig | null, options: UsableOptions): SeriesRemark[] {
  if (rig === null) return remarksOfSeries(series);
  try {
    return [...remarksOnRig(compileSchedule(series, rig), series, rig, options), ...remarksOfSeries(series)];
  } catch (error) {
    if (!(error instanceof ChambersideError) || error.code !== 'schedule-impossible') throw error;
    const { what, where, remedy } = error;
    return [{ kind: 'not-for-rig', what, where, remedy }, ...remarksOfSeries(series)];
  }
}

function remarksOnRig(schedule: Schedule, series: Series, rig: Rig, options: UsableOptions): SeriesRemark[] {
  const usable = predictUsableSeconds(schedule, rig, options);
  const remarks: SeriesRemark[] = [];
  const secondsOf = (step: Schedule['steps'][number]): number => usable[step.step] ?? 0;
  const shorter = (purpose: DwellPurpose, least: number): number =>
    schedule.steps.filter((step) => step.purpose === purpose && secondsOf(step) < least).length;
  for (const purpose of purposes) {
    const none = shorter(purpose, Number.MIN_VALUE);
    const little = shorter(purpose, littleUsableSeconds) - none;
    if (none > 0) remarks.push({ kind: 'no-usable-air', purpose, dwells: none });
    if (little > 0) remarks.push({ kind: 'little-usable-air', purpose, dwells: little });
  }
  const probeSteps = schedule.steps.filter((step) => step.purpose === 'probe');
  for (const { label, port } of probePorts(rig)) {
    const seen = probeSteps.some((step) => step.port === port && secondsOf(step) > 0);
    if (!seen) remarks.push({ kind: 'never-seen', probe: label });
  }
  const partial = series.exercises.filter(({ cadencePerMinute }, exerciseIndex) => {
    if (cadencePerMinute === null) return false;
    const own = probeSteps.filter((step) => step.exerciseIndex === exerciseIndex).map(secondsOf);
    const least = Math.min(...own.filter((seconds) => seconds > 0));
    return Number.isFinite(least) && least < 60 / cadencePerMinute;
  });
  if (partial.length > 0) remarks.push({ kind: 'less-than-a-movement', exercises: namesOf(partial) });
  if (series.order.kind === 'fixed' && probePorts(rig).length > 1) remarks.push({ kind: 'fixed-order' });
  return remarks;
}

/** What holds whatever the rig. */
function remarksOfSeries({ closing, entry, exercises }: Series): SeriesRemark[] {
  const works = (exercise: Exercise | undefined): boolean => (exercise?.workRateWatts ?? 0) > 0;
  const insideSeconds = exercises.reduce(
    (sum, { durationSeconds, restSeconds }) => sum + restSeconds + durationSeconds,
    entry.maximumSeconds + closing.referenceSeconds + closing.zeroSeconds,
  );
  const found = (kind: NamingKind, of: Series['exercises']): SeriesRemark[] =>
    of.length === 0 ? [] : [{ kind, exercises: namesOf(of) }];
  return [
    ...found(
      'no-reference',
      exercises.filter(({ restSeconds, restZeroSeconds }) => restSeconds <= restZeroSeconds),
    ),
    ...found(
      'no-zero',
      exercises.filter(({ leadInSeconds, restZeroSeconds }) => leadInSeconds + restZeroSeconds === 0),
    ),
    ...found(
      'no-lead-in',
      exercises.filter(({ leadInSeconds }) => leadInSeconds === 0),
    ),
    ...found(
      'long-unreferenced',
      exercises.filter(({ durationSeconds }) => durationSeconds > longestUnreferencedSeconds),
    ),
    ...found(
      'hard-work',
      exercises.filter(({ workRateWatts }) => (workRateWatts ?? 0) > hardWorkWatts),
    ),
    ...found(
      'short-rest',
      exercises.filter(
        (one, index) => one.restSeconds < leastRestSeconds && works(one) && works(exercises[index - 1]),
      ),
    ),
    ...(insideSeconds > veryLongSeconds ? [{ kind: 'very-long' as const, insideSeconds }] : []),
  ];
}

type NamingKind = 'no-reference' | 'no-zero' | 'no-lead-in' | 'long-unreferenced' | 'hard-work' | 'short-rest';

function namesOf(exercises: Series['exercises']): string[] {
  return exercises.map(({ name }) => name);
}
