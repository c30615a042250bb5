import type { AssessedCell } from '../cell.ts';
import { castsDoubt } from '../flag.ts';
import { exerciseInterval, logLimit, slicePercentOf, sliceScatter } from './slice.ts';
import type { ExerciseInterval, SliceScatter } from './slice.ts';
import type { StatedUncertainty } from './uncertainty.ts';

/**
 * Pools the slice scatter of a trial from the cells that have a trustworthy logarithm and no doubt. What a reviewer
 * left out is no doubt here: the rest of the cell is what it was.
 */
function sliceOfTrial(cells: readonly AssessedCell[]): SliceScatter | null {
  const probes = new Map<string, number[][]>();
  for (const { parts, shown } of cells) {
    const { flags, probe, windowPercent, windowStandardPercent } = shown;
    if (castsDoubt(flags.filter((flag) => flag !== 'left-out'))) continue;
    if (windowPercent === null || windowStandardPercent === null) continue;
    if (!(windowPercent > logLimit * windowStandardPercent)) continue;
    const values = parts.flatMap((part) => (part.shown.windowPercent === null ? [] : [part.shown.windowPercent]));
    if (values.some((value) => !(value > 0))) continue;
    const course = probes.get(probe) ?? [];
    course.push(values);
    probes.set(probe, course);
  }
  return sliceScatter([...probes.values()]);
}

/**
 * The slice scatters by which intervals are to be stated: that of the cells, and where something is left out, that of
 * the same cells with nothing left out as well. Leaving out then narrows no interval: the wider one counts.
 * @param whole null where nothing is left out. @returns those that the trial shows, which may be none.
 */
export function slicesOfTrial(
  cells: readonly AssessedCell[],
  whole: readonly AssessedCell[] | null,
): readonly SliceScatter[] {
  return [cells, ...(whole === null ? [] : [whole])].map(sliceOfTrial).filter((slice) => slice !== null);
}

/** The one of several by which slices differ most; null where there is none. */
export function widestSlice(slices: readonly SliceScatter[]): SliceScatter | null {
  let widest: SliceScatter | null = null;
  for (const slice of slices) if (widest === null || slice.logStandard > widest.logStandard) widest = slice;
  return widest;
}

/** The cell with its exercise leakage: the same value, and the wider interval of what was not seen. */
export function withExercise(cell: AssessedCell, slices: readonly SliceScatter[]): AssessedCell {
  const { windowPercent } = cell.shown;
  if (windowPercent === null) return cell;
  const { interval, slice } = widestInterval(windowPercent, cell.shown, slices, (one) =>
    slicePercentOf(windowPercent, dwellsOf(cell), one),
  );
  return { ...cell, slice, shown: { ...cell.shown, exercisePercent: windowPercent, ...interval } };
}

/**
 * Interval of a mean of cells when their whole exercises are asked for: what the slices of one cell missed tells
 * nothing about those of another.
 * @param windowPercent the plain mean of `cells`, all of which have a value.
 */
export function exerciseOfMean(
  windowPercent: number,
  stated: StatedUncertainty,
  cells: readonly AssessedCell[],
  slices: readonly SliceScatter[],
): ExerciseInterval {
  const unseen = (slice: SliceScatter): number => {
    let sum = 0;
    for (const cell of cells) {
      sum += (slicePercentOf(cell.shown.windowPercent ?? 0, dwellsOf(cell), slice) / cells.length) ** 2;
    }
    return Math.sqrt(sum);
  };
  return widestInterval(windowPercent, stated, slices, unseen).interval;
}

/**
 * Of the intervals that each slice scatter gives, the widest: a larger scatter with more degrees of freedom may give
 * the narrower one.
 */
function widestInterval(
  percent: number,
  { degreesOfFreedom, windowStandardPercent }: StatedUncertainty,
  slices: readonly SliceScatter[],
  slicePercentBy: (slice: SliceScatter) => number,
): { readonly interval: ExerciseInterval; readonly slice: SliceScatter | null } {
  let interval: ExerciseInterval = { exerciseLowPercent: null, exerciseHighPercent: null };
  let widest: SliceScatter | null = null;
  if (windowStandardPercent === null) return { interval, slice: widest };
  const seen = { percent, standardPercent: windowStandardPercent, degreesOfFreedom };
  for (const slice of slices) {
    const found = exerciseInterval({ ...seen, slicePercent: slicePercentBy(slice) }, slice);
    // All lie around the same value, and are as wide as they are high.
    if (interval.exerciseHighPercent !== null && !((found.exerciseHighPercent ?? 0) > interval.exerciseHighPercent)) {
      continue;
    }
    interval = found;
    widest = slice;
  }
  return { interval, slice: widest };
}

function dwellsOf({ weights }: AssessedCell): number {
  return weights.filter((weight) => weight > 0).length;
}
