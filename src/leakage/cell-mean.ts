import type { Cell, CellMean } from './assessment.ts';
import type { Flag } from './flag.ts';
import { castsDoubt, orderFlags } from './flag.ts';
import { protectionFactor } from './protection-factor.ts';

/**
 * Arithmetic mean of cells, raw signed numbers included. 100/mean is the harmonic form of their protection
 * factors. Doubtful cells enter with their flags, so the mean says so; cells without a value are counted.
 */
export function meanOfCells(cells: readonly Cell[]): CellMean {
  const flags = new Set<Flag>();
  let sum = 0;
  let count = 0;
  let flagged = 0;
  for (const cell of cells) {
    for (const flag of cell.flags) flags.add(flag);
    if (cell.flagged) flagged += 1;
    if (cell.windowPercent === null) continue;
    sum += cell.windowPercent;
    count += 1;
  }
  // One cell below its limit says nothing about the mean of all.
  flags.delete('below-detection-limit');
  const windowPercent = count > 0 ? sum / count : null;
  return {
    windowPercent,
    protectionFactor: windowPercent === null ? null : protectionFactor(windowPercent),
    cells: count,
    cellsFlagged: flagged,
    cellsMissing: cells.length - count,
    flags: orderFlags(flags),
    flagged: castsDoubt(flags),
  };
}
