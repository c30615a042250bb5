import type { AssessedCell } from '../cell.ts';
import { castsDoubt } from '../flag.ts';
import { exerciseInterval, logLimit, slicePercentOf, sliceScatter } from './slice.ts';
import type { ExerciseInterval, SliceScatter } from './slice.ts';
import type { StatedUncertainty } from './uncertainty.ts';

/**
 * Pools the slice scatter of a trial from the cells that have a trustworthy logarithm and no doubt. What a reviewer
 * left out is no doubt here: the rest of the cell is what it was.
 */
export function sliceOfTrial(cells: readonly AssessedCell[]): SliceScatter | null {
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

/** The cell with its exercise leakage: the same value, and the wider interval of what was not seen. */
export function withExercise(cell: AssessedCell, slice: SliceScatter | null): AssessedCell {
  const { windowPercent } = cell.shown;
  if (windowPercent === null) return cell;
  const slicePercent = slice === null ? 0 : slicePercentOf(windowPercent, dwellsOf(cell), slice);
  const interval = intervalOfWhole(windowPercent, cell.shown, slice, slicePercent);
  return { ...cell, shown: { ...cell.shown, exercisePercent: windowPercent, ...interval } };
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
  slice: SliceScatter | null,
): ExerciseInterval {
  let unseen = 0;
  if (slice !== null) {
    for (const cell of cells) {
      unseen += (slicePercentOf(cell.shown.windowPercent ?? 0, dwellsOf(cell), slice) / cells.length) ** 2;
    }
  }
  return intervalOfWhole(windowPercent, stated, slice, Math.sqrt(unseen));
}

function intervalOfWhole(
  percent: number,
  { degreesOfFreedom, windowStandardPercent }: StatedUncertainty,
  slice: SliceScatter | null,
  slicePercent: number,
): ExerciseInterval {
  return slice === null || windowStandardPercent === null
    ? { exerciseLowPercent: null, exerciseHighPercent: null }
    : exerciseInterval({ percent, standardPercent: windowStandardPercent, degreesOfFreedom, slicePercent }, slice);
}

function dwellsOf({ weights }: AssessedCell): number {
  return weights.filter((weight) => weight > 0).length;
}
