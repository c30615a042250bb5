import { coverageFactor } from './uncertainty.ts';

/**
 * How much one slice of an exercise differs from the whole, pooled over the trial: it cannot be seen from inside a
 * window, whose own scatter knows nothing of what comes before and after.
 */
export interface SliceScatter {
  /** Standard deviation of ln(slice/whole) of one dwell. */
  readonly logStandard: number;
  readonly degreesOfFreedom: number;
  /** Where the differences come from. Between exercises they hold what exercises differ by as well: an upper bound. */
  readonly from: 'dwells of one exercise' | 'successive exercises';
  readonly pairs: number;
}

/** Differences of successive values overlap, so they are worth less than their count: 2/3 of it for white scatter. */
const overlapShare = 2 / 3;

/** From this many standard uncertainties above zero on, a value has a logarithm that can be trusted. */
export const logLimit = 5;

/** Values of one probe in the order of time, as leakages, percent; a row for each exercise, one for each dwell. */
export type ProbeCourse = readonly (readonly number[])[];

/**
 * s = rms(ln(y₂/y₁))/√2 over successive dwells of one probe. Dwells of one exercise are used where there are such
 * pairs, else those of successive exercises.
 * @returns null where there is no pair.
 */
export function sliceScatter(courses: readonly ProbeCourse[]): SliceScatter | null {
  const inside: number[] = [];
  const between: number[] = [];
  for (const course of courses) {
    let last: number | null = null;
    for (const values of course) {
      for (const [index, value] of values.entries()) {
        if (index > 0) inside.push(Math.log(value / (values[index - 1] as number)));
        else if (last !== null) between.push(Math.log(value / last));
        last = value;
      }
    }
  }
  const chosen = inside.length > 0 ? inside : between;
  if (chosen.length === 0) return null;
  let squares = 0;
  for (const difference of chosen) squares += difference ** 2;
  return {
    logStandard: Math.sqrt(squares / chosen.length / 2),
    degreesOfFreedom: overlapShare * chosen.length,
    from: inside.length > 0 ? 'dwells of one exercise' : 'successive exercises',
    pairs: chosen.length,
  };
}

/** What is known of the leakage of the air seen when the whole exercise is asked for. Percent of the challenge. */
export interface SlicedValue {
  readonly percent: number;
  readonly standardPercent: number;
  readonly degreesOfFreedom: number | null;
  /** What the slices may have missed: |IL| · s/√n for the mean of n dwells; for a mean of cells, by cell. */
  readonly slicePercent: number;
}

/**
 * Interval of the exercise leakage around the same central value: ln IL ± t · √(u² + u_slice²)/IL, and for values
 * closer to zero than five standard uncertainties, where a logarithm means nothing, IL ± t · √(u² + u_slice²).
 */
export function exerciseInterval(
  { degreesOfFreedom, percent, slicePercent, standardPercent }: SlicedValue,
  slice: SliceScatter,
): ExerciseInterval {
  const instrument = standardPercent ** 2;
  const unseen = slicePercent ** 2;
  const whole = instrument + unseen;
  const fourths =
    instrument ** 2 / (degreesOfFreedom ?? Number.POSITIVE_INFINITY) + unseen ** 2 / slice.degreesOfFreedom;
  const half = coverageFactor(fourths > 0 ? whole ** 2 / fourths : Number.POSITIVE_INFINITY) * Math.sqrt(whole);
  if (!(percent > 0) || percent < logLimit * standardPercent) {
    return { exerciseLowPercent: percent - half, exerciseHighPercent: percent + half };
  }
  const factor = Math.exp(half / percent);
  return { exerciseLowPercent: percent / factor, exerciseHighPercent: percent * factor };
}

/** |IL| · s/√n of one cell, percent. */
export function slicePercentOf(percent: number, dwells: number, slice: SliceScatter): number {
  return (Math.abs(percent) * slice.logStandard) / Math.sqrt(dwells);
}

/** 95 % interval of the whole exercise, percent; null where it is not known. */
export interface ExerciseInterval {
  readonly exerciseLowPercent: number | null;
  readonly exerciseHighPercent: number | null;
}
