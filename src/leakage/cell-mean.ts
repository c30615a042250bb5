import type { CellMean } from './assessment.ts';
import { weightedContributions } from './budget/contribution.ts';
import { exerciseOfMean } from './budget/exercise.ts';
import type { SliceScatter } from './budget/slice.ts';
import { statedUncertainty, uncertaintyOf } from './budget/uncertainty.ts';
import type { LineFreedom, StatedUncertainty } from './budget/uncertainty.ts';
import type { AssessedCell } from './cell.ts';
import type { Flag } from './flag.ts';
import { castsDoubt, orderFlags } from './flag.ts';
import { protectionFactor } from './protection-factor.ts';

/**
 * Arithmetic mean of cells, raw signed numbers included. 100/mean is the harmonic form of their protection
 * factors. Doubtful cells enter with their flags, so the mean says so; cells without a value are counted.
 */
export function meanOfCells(
  cells: readonly AssessedCell[],
  freedom: LineFreedom,
  slices: readonly SliceScatter[],
): CellMean {
  const flags = new Set<Flag>();
  let sum = 0;
  let count = 0;
  let flagged = 0;
  for (const { shown } of cells) {
    for (const flag of shown.flags) flags.add(flag);
    if (shown.flagged) flagged += 1;
    if (shown.windowPercent === null) continue;
    sum += shown.windowPercent;
    count += 1;
  }
  // One cell below its limit says nothing about the mean of all.
  flags.delete('below-detection-limit');
  const windowPercent = count > 0 ? sum / count : null;
  const valued = cells.filter(({ shown }) => shown.windowPercent !== null);
  const stated = meanUncertainty(windowPercent, valued, freedom);
  return {
    windowPercent,
    ...stated,
    ...(windowPercent === null
      ? { exerciseLowPercent: null, exerciseHighPercent: null }
      : exerciseOfMean(windowPercent, stated, valued, slices)),
    protectionFactor: windowPercent === null ? null : protectionFactor(windowPercent),
    cells: count,
    cellsFlagged: flagged,
    cellsMissing: cells.length - count,
    flags: orderFlags(flags),
    flagged: castsDoubt(flags),
  };
}

/**
 * By input, never by cell: cells share zeros, references, dilutions and the spatial factor, and would count them as
 * many times as there are cells. None where a cell with a value has no budget.
 */
function meanUncertainty(
  windowPercent: number | null,
  valued: readonly AssessedCell[],
  freedom: LineFreedom,
): StatedUncertainty {
  const known = valued.flatMap(({ contributions }) =>
    contributions === null ? [] : [{ weight: 1 / valued.length, contributions }],
  );
  if (windowPercent === null || known.length < valued.length) return statedUncertainty(null);
  return statedUncertainty(uncertaintyOf(windowPercent, weightedContributions(known), freedom));
}
