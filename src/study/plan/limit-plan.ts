import { normalQuantile } from '../../statistics/distributions.ts';
import { noncentralStudentAbove } from '../../statistics/noncentral-tail.ts';
import { fewestValues, toleranceFactor } from '../lognormal.ts';
import { passingShare } from '../passing-share.ts';
import { outsideValidity } from '../validity.ts';
import { mostSubjects } from './power.ts';
import { type ExpectedScatter, varianceOf } from './scatter.ts';

/** A limit that the tolerance limit of an ensemble is to stay below. */
export interface PlannedLimit {
  readonly limitPercent: number;
  /** Geometric mean that is expected, percent of the challenge. */
  readonly meanPercent: number;
  readonly scatter: ExpectedScatter;
  readonly trials: number;
  /** As `upperToleranceLimit` takes them. */
  readonly coverage: number;
  readonly confidence: number;
}

/**
 * Chance that the tolerance limit of this many subjects lies below the limit. With x̄ and s of n logarithms,
 * P(x̄ + k s ≤ ln L) = P(T ≥ k √n) for T noncentral t of n − 1 degrees of freedom and noncentrality √n (ln L − µ)/σ:
 * textbook, from the definition of the noncentral t. Below a noncentrality of −37.6 the chance at −37.6, all but none.
 * @throws ChambersideError `outside-validity` for values that are none, and as `toleranceFactor`.
 */
export function chanceBelowLimit(planned: PlannedLimit, subjects: number): number {
  const { limitPercent, meanPercent, scatter, trials, coverage, confidence } = planned;
  for (const percent of [limitPercent, meanPercent]) {
    if (percent > 0 && percent < Infinity) continue;
    throw outsideValidity(`a leakage of ${percent} %`, 'plan of a limit', 'Give percent above zero.');
  }
  const factor = toleranceFactor(subjects, coverage, confidence);
  const deviation = Math.sqrt(varianceOf(scatter, 'separate', trials).mean);
  const apart = (Math.sqrt(subjects) * Math.log(limitPercent / meanPercent)) / deviation;
  return noncentralStudentAbove(factor * Math.sqrt(subjects), subjects - 1, Math.max(-37.6, apart));
}

/**
 * Fewest subjects whose tolerance limit lies below the limit with at least this chance; null where no number up to 300
 * has it, or as many as the factor is known for.
 */
export function subjectsBelowLimit(
  planned: PlannedLimit,
  chance: number,
): { readonly subjects: number; readonly chance: number } | null {
  const { coverage, limitPercent, meanPercent, scatter, trials } = planned;
  const quantile = normalQuantile(coverage);
  let [low, high] = [fewestValues, Math.min(300, Math.floor((37.6 / quantile) ** 2))];
  const first = chanceBelowLimit(planned, low);
  if (first >= chance) return { subjects: low, chance: first };
  // More subjects bring the tolerance limit nearer to what the share stays below: where that is above, none is enough.
  const ofShare = meanPercent * Math.exp(quantile * Math.sqrt(varianceOf(scatter, 'separate', trials).mean));
  if (ofShare >= limitPercent || chanceBelowLimit(planned, high) < chance) return null;
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (chanceBelowLimit(planned, middle) >= chance) high = middle;
    else low = middle;
  }
  return { subjects: high, chance: chanceBelowLimit(planned, high) };
}

/**
 * Fewest subjects that prove a share, where this many may fail: the one-sided bound by Clopper and Pearson is at least
 * the share. Without a failure: the smallest n with shareⁿ ≤ 1 − confidence.
 * @returns null where `mostSubjects` are too few.
 */
export function subjectsForShare(share: number, confidence: number, failures: number): number | null {
  if (!(share > 0 && share < 1)) {
    throw outsideValidity(`a share of ${share}`, 'plan of a share', 'Give a share above 0 and below 1, like 0.8.');
  }
  if (!(Number.isInteger(failures) && failures >= 0)) {
    throw outsideValidity(`${failures} failures`, 'plan of a share', 'Give a whole number from 0.');
  }
  const isProved = (count: number): boolean =>
    // Rounding of the quantile must not cost a subject.
    passingShare(count - failures, count, confidence).atLeast >= share - 1e-12;
  for (let count = failures + 1; count <= mostSubjects; count += 1) if (isProved(count)) return count;
  return null;
}
