import { studentQuantile } from '../../statistics/distributions.ts';
import type { Contributions } from './contribution.ts';
import { budgetLineNames } from './line.ts';
import type { BudgetLineName } from './line.ts';

/** Degrees of freedom of every line; infinite for what a certificate states. */
export type LineFreedom = Readonly<Record<BudgetLineName, number>>;

/** One line of a budget. */
export interface BudgetLine {
  readonly line: BudgetLineName;
  /** Standard uncertainty that it gives to the result, percent of the challenge. */
  readonly standardPercent: number;
  /** Null: taken from a certificate, without a number of its own. */
  readonly degreesOfFreedom: number | null;
}

/** A result's doubt. All in percent of the challenge. */
export interface Uncertainty {
  readonly standardPercent: number;
  /** Effective, by Welch and Satterthwaite; null where it is so large that it does not matter. */
  readonly degreesOfFreedom: number | null;
  /** Half width of the 95 % interval. */
  readonly expandedPercent: number;
  /** Result ± half width, signed: below zero where the interval reaches there. */
  readonly lowPercent: number;
  readonly highPercent: number;
  readonly lines: readonly BudgetLine[];
}

/** Probability that the stated intervals are to hold the true value. */
export const confidence = 0.95;

/** More degrees of freedom than this are as good as infinitely many: t differs from the normal by 3·10⁻⁶. */
const manyDegreesOfFreedom = 1e6;

/**
 * Combines contributions: inputs of a line by the root of the sum of squares, lines likewise, with the effective
 * degrees of freedom u⁴/Σ(u_i⁴/ν_i) over lines (JCGM 100:2008, G.4.1). Inputs of one line rest on one estimate of
 * their scatter, so the line as a whole has its degrees of freedom.
 * @param percent the result. @returns null where nothing contributes.
 */
export function uncertaintyOf(
  percent: number,
  contributions: Contributions,
  freedom: LineFreedom,
): Uncertainty | null {
  const variances = new Map<BudgetLineName, number>();
  for (const { line, sensitivity, standardUncertainty } of contributions.values()) {
    variances.set(line, (variances.get(line) ?? 0) + (sensitivity * standardUncertainty) ** 2);
  }
  let variance = 0;
  let fourths = 0;
  const lines: BudgetLine[] = [];
  for (const line of budgetLineNames) {
    const own = variances.get(line);
    if (own === undefined) continue;
    variance += own;
    fourths += own ** 2 / freedom[line];
    lines.push({ line, standardPercent: Math.sqrt(own), degreesOfFreedom: finite(freedom[line]) });
  }
  if (!(variance > 0)) return null;
  const effective = fourths > 0 ? variance ** 2 / fourths : Number.POSITIVE_INFINITY;
  const standardPercent = Math.sqrt(variance);
  const expandedPercent = coverageFactor(effective) * standardPercent;
  return {
    standardPercent,
    degreesOfFreedom: finite(effective),
    expandedPercent,
    lowPercent: percent - expandedPercent,
    highPercent: percent + expandedPercent,
    lines,
  };
}

/** A result's doubt as an assessment states it. All null, and no lines, where nothing is known. */
export interface StatedUncertainty {
  readonly windowStandardPercent: number | null;
  /** Result ± half width of the 95 % interval, signed: below zero where the interval reaches there. */
  readonly windowLowPercent: number | null;
  readonly windowHighPercent: number | null;
  /** Half width of the 95 % interval. */
  readonly windowExpandedPercent: number | null;
  /** Effective; null also where they are so many that they do not matter. */
  readonly degreesOfFreedom: number | null;
  readonly budget: readonly BudgetLine[];
}

export function statedUncertainty(known: Uncertainty | null): StatedUncertainty {
  return {
    windowStandardPercent: known?.standardPercent ?? null,
    windowLowPercent: known?.lowPercent ?? null,
    windowHighPercent: known?.highPercent ?? null,
    windowExpandedPercent: known?.expandedPercent ?? null,
    degreesOfFreedom: known?.degreesOfFreedom ?? null,
    budget: known?.lines ?? [],
  };
}

/** Two-sided Student factor of the stated confidence. */
export function coverageFactor(degreesOfFreedom: number): number {
  return studentQuantile((1 + confidence) / 2, degreesOfFreedom);
}

function finite(degreesOfFreedom: number): number | null {
  return degreesOfFreedom < manyDegreesOfFreedom ? degreesOfFreedom : null;
}
