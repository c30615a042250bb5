import type { AssessedCell } from '../cell.ts';
import { drawResult } from './monte-carlo.ts';
import type { MonteCarlo } from './monte-carlo.ts';
import type { LineFreedom } from './uncertainty.ts';

/** A stated interval held against one that was drawn. */
export interface BudgetCheck extends MonteCarlo {
  /** Half width drawn against half width stated, percent of the stated one; signed. */
  readonly differencePercent: number;
  /** What they may differ by: more where a line that counts has few degrees of freedom. */
  readonly boundPercent: number;
  readonly agrees: boolean;
}

/**
 * A line counts from a fifth of the uncertainty on. With twenty degrees of freedom or more in each of these, Welch and
 * Satterthwaite and a Monte Carlo with t draws differ by less than 5 %; with few they differ by up to 10 % (numerical
 * study), because a mixture of t and normal is no t.
 */
const countingShare = 1 / 5;
const manyDegrees = 20;

/** Draws a cell's interval; null where the cell has none. @throws as `drawResult`. */
export function checkBudget(
  { parts, shown, weights }: AssessedCell,
  freedom: LineFreedom,
  draws: number,
  seed: number,
): BudgetCheck | null {
  const { budget, windowExpandedPercent: stated, windowStandardPercent: standard } = shown;
  if (stated === null || standard === null) return null;
  const models = parts.flatMap(({ budget: own }, index) => {
    const weight = weights[index] ?? 0;
    return own === null || weight === 0 ? [] : [{ weight, model: own.model }];
  });
  const drawn = drawResult(models, freedom, draws, seed);
  const few = budget.some(
    ({ degreesOfFreedom, standardPercent }) =>
      standardPercent > countingShare * standard && degreesOfFreedom !== null && degreesOfFreedom < manyDegrees,
  );
  const boundPercent = few ? 10 : 5;
  const differencePercent = 100 * ((drawn.highPercent - drawn.lowPercent) / 2 / stated - 1);
  return { ...drawn, differencePercent, boundPercent, agrees: Math.abs(differencePercent) <= boundPercent };
}
