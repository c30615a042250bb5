import { studentQuantile } from '../statistics/distributions.ts';
import { describeValues } from '../statistics/univariate.ts';
import { fewestValues } from './lognormal.ts';
import { outsideValidity, requireConfidence, scatters } from './validity.ts';

/** How far two measurements of the same thing are apart; unit of the values. */
export interface Agreement {
  readonly pairs: number;
  /** Mean of first less second. */
  readonly bias: number;
  readonly standardDeviation: number;
  /** bias ± 1.96 s. */
  readonly lowerLimit: number;
  readonly upperLimit: number;
  readonly biasLow: number;
  readonly biasHigh: number;
  /** Within which one further difference lies with the confidence: t of n − 1, s √(1 + 1/n). */
  readonly nextLow: number;
  readonly nextHigh: number;
  /** Reach of the interval of either limit, with √3 s/√n as its standard error. */
  readonly limitReach: number;
}

/**
 * Limits of agreement by J. M. Bland and D. G. Altman, Lancet 327 (1986) 307; with 1.96 s, where the paper has 2 s.
 * They are estimates: of few pairs, less than 95 % of all differences lie within them. One further difference has an
 * interval of its own. The pairs must be independent: one of each subject.
 * @throws ChambersideError `outside-validity` for fewer than three pairs, or differences that do not scatter.
 */
export function limitsOfAgreement(
  pairs: readonly (readonly [first: number, second: number])[],
  confidence = 0.95,
): Agreement {
  requireConfidence(confidence, 'confidence', statistic);
  if (pairs.length < fewestValues) {
    const what = `too few pairs to show a scatter: ${pairs.length}`;
    throw outsideValidity(what, statistic, `At least ${fewestValues} pairs are needed.`);
  }
  const differences = pairs.map(([first, second]) => first - second);
  if (!differences.every(Number.isFinite)) {
    throw outsideValidity('a value is no finite number', statistic, 'Leave the pair out, and say so.');
  }
  const { mean, standardDeviation } = describeValues(differences);
  if (!scatters(differences)) {
    throw outsideValidity('all differences are the same', statistic, 'Look at where the values come from.');
  }
  const factor = studentQuantile((1 + confidence) / 2, pairs.length - 1);
  const error = standardDeviation / Math.sqrt(pairs.length);
  const next = factor * standardDeviation * Math.sqrt(1 + 1 / pairs.length);
  return {
    pairs: pairs.length,
    bias: mean,
    standardDeviation,
    lowerLimit: mean - 1.96 * standardDeviation,
    upperLimit: mean + 1.96 * standardDeviation,
    biasLow: mean - factor * error,
    biasHigh: mean + factor * error,
    nextLow: mean - next,
    nextHigh: mean + next,
    limitReach: factor * Math.sqrt(3) * error,
  };
}

const statistic = 'limits of agreement';
