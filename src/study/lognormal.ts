import { fitCensoredNormal } from '../statistics/censored-normal.ts';
import {
  chiSquareQuantile,
  noncentralStudentQuantile,
  normalQuantile,
  studentQuantile,
} from '../statistics/distributions.ts';
import { describeValues } from '../statistics/univariate.ts';
import { outsideValidity, requireConfidence, scatters } from './validity.ts';

/**
 * A leakage of one subject, percent of the challenge. Below a limit, `percent` is that limit, and nothing else is known
 * of it: no other number ever stands for it.
 */
export interface Leakage {
  readonly percent: number;
  readonly below: boolean;
}

/** Percent of the challenge; deviations are factors. */
export interface LognormalSummary {
  readonly count: number;
  /** How many of them lie below a limit. */
  readonly below: number;
  readonly geometricMean: number;
  readonly geometricMeanLow: number;
  readonly geometricMeanHigh: number;
  /** exp of the standard deviation of the logarithms. */
  readonly geometricDeviation: number;
  /** Null where values lie below a limit: no interval of this form holds then. */
  readonly geometricDeviationLow: number | null;
  readonly geometricDeviationHigh: number | null;
  /** Of the distribution, GM exp(ln²GSD/2): not the mean of the values. */
  readonly arithmeticMean: number;
  /** Of the distribution. */
  readonly median: number;
  readonly percentile95: number;
  /** `moments`: intervals exact. `maximum-likelihood`: interval from the curvature at the top and t, approximate. */
  readonly method: 'moments' | 'maximum-likelihood';
}

/** Fewest subjects for which an interval is given, and fewest that were read where others lie below a limit. */
export const fewestValues = 3;
/** Largest share of values below a limit for which a fit is given; D. R. Helsel (2005), from memory. */
export const mostBelowShare = 0.8;

/**
 * Lognormal summary: GM = exp(mean ln x), GSD = exp(sd ln x) with n − 1; intervals by t and χ² of the logarithms. With
 * values below a limit by maximum likelihood, GSD with n/(n − 1) put in as without them; textbook.
 * @throws ChambersideError `outside-validity` for fewer than three values or three read ones, more than four in five
 *   below a limit, values that are not above zero or do not differ.
 */
export function lognormalSummary(leakages: readonly Leakage[], confidence = 0.95): LognormalSummary {
  requireConfidence(confidence, 'confidence', 'lognormal summary');
  const { read, limits } = logarithms(leakages, 'lognormal summary');
  const count = leakages.length;
  const { mean, deviation, error, degreesOfFreedom } = fitted(read, limits);
  const reach = studentQuantile((1 + confidence) / 2, degreesOfFreedom) * error;
  const exact = limits.length === 0;
  const deviationAt = (probability: number): number | null =>
    exact ? Math.exp(deviation * Math.sqrt((count - 1) / chiSquareQuantile(probability, count - 1))) : null;
  return {
    count,
    below: limits.length,
    geometricMean: Math.exp(mean),
    geometricMeanLow: Math.exp(mean - reach),
    geometricMeanHigh: Math.exp(mean + reach),
    geometricDeviation: Math.exp(deviation),
    geometricDeviationLow: deviationAt((1 + confidence) / 2),
    geometricDeviationHigh: deviationAt((1 - confidence) / 2),
    arithmeticMean: Math.exp(mean + deviation ** 2 / 2),
    median: Math.exp(mean),
    percentile95: Math.exp(mean + normalQuantile(0.95) * deviation),
    method: exact ? 'moments' : 'maximum-likelihood',
  };
}

/**
 * Standard error and degrees of freedom of a mean of logarithms. Values below a limit bring no degrees of freedom of
 * their own: t with those read less one, which widens the interval where few were read.
 */
function fitted(
  read: readonly number[],
  limits: readonly number[],
): { mean: number; deviation: number; error: number; degreesOfFreedom: number } {
  if (limits.length === 0) {
    const { mean, standardDeviation } = describeValues(read);
    const degreesOfFreedom = read.length - 1;
    return { mean, deviation: standardDeviation, error: standardDeviation / Math.sqrt(read.length), degreesOfFreedom };
  }
  const fit = fitCensoredNormal(read, limits);
  const count = read.length + limits.length;
  const unbiased = Math.sqrt(count / (count - 1));
  return {
    mean: fit.mean,
    deviation: fit.standardDeviation * unbiased,
    error: fit.standardErrorOfMean * unbiased,
    degreesOfFreedom: read.length - 1,
  };
}

/** Natural logarithms of what was read, and of limits; refused where the summary does not hold. */
function logarithms(leakages: readonly Leakage[], statistic: string): { read: number[]; limits: number[] } {
  const bad = leakages.find(({ percent }) => !(percent > 0 && percent < Infinity));
  if (bad !== undefined) {
    const todo = 'Give it as below its detection limit: zero and less have no logarithm.';
    throw outsideValidity(`a leakage of ${bad.percent} % has no place on a log scale`, statistic, todo);
  }
  const read = leakages.filter(({ below }) => !below).map(({ percent }) => Math.log(percent));
  const limits = leakages.filter(({ below }) => below).map(({ percent }) => Math.log(percent));
  if (leakages.length < fewestValues || read.length < fewestValues) {
    const what = `of ${leakages.length}, above the limit ${read.length}: too few to show a scatter`;
    const todo = `At least ${fewestValues} subjects with a value above the limit are needed.`;
    throw outsideValidity(what, statistic, todo);
  }
  if (limits.length > mostBelowShare * leakages.length) {
    const what = `${limits.length} of ${leakages.length} values lie below their limit`;
    throw outsideValidity(what, statistic, 'A fit holds up to four in five; say how many lie below instead.');
  }
  if (!scatters(read)) {
    const todo = 'Look at the trials: different subjects do not give the same number.';
    throw outsideValidity('all values are the same', statistic, todo);
  }
  return { read, limits };
}

/**
 * Factor k of a one-sided tolerance limit exp(mean + k · sd) of logarithms: noncentral t, exact. W. A. Odeh and
 * D. B. Owen's tables, as recomputed in tests/published.
 * @param coverage share of the wearers that lies below the limit, @param confidence of that.
 * @throws ChambersideError `outside-validity` for fewer than three values, and where z √n exceeds 37.6.
 */
export function toleranceFactor(count: number, coverage: number, confidence: number): number {
  requireConfidence(coverage, 'coverage', 'tolerance factor');
  requireConfidence(confidence, 'confidence', 'tolerance factor');
  if (!(Number.isInteger(count) && count >= fewestValues)) {
    const todo = `At least ${fewestValues} subjects are needed.`;
    throw outsideValidity(`${count} values have no tolerance factor`, 'tolerance factor', todo);
  }
  const noncentrality = normalQuantile(coverage) * Math.sqrt(count);
  if (noncentrality > 37.6) {
    const todo = 'Ask for less coverage: double precision holds z √n up to 37.6.';
    throw outsideValidity(`${count} values at a coverage of ${coverage} are too many`, 'tolerance factor', todo);
  }
  return noncentralStudentQuantile(confidence, count - 1, noncentrality) / Math.sqrt(count);
}

/**
 * Leakage below which a share of all wearers lies, with a confidence; percent.
 * @throws ChambersideError `outside-validity` also where a value lies below its limit: the factor is not exact then.
 */
export function upperToleranceLimit(leakages: readonly Leakage[], coverage: number, confidence: number): number {
  const { read, limits } = logarithms(leakages, 'tolerance limit');
  if (limits.length > 0) {
    const what = `${limits.length} of ${leakages.length} values lie below their detection limit`;
    throw outsideValidity(what, 'tolerance limit', 'Use the share that passes: no exact factor exists here.');
  }
  const { mean, standardDeviation } = describeValues(read);
  return Math.exp(mean + toleranceFactor(read.length, coverage, confidence) * standardDeviation);
}
