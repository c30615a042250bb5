import { fitCensoredNormal } from '../statistics/censored-normal.ts';
import { studentProbability, studentQuantile } from '../statistics/distributions.ts';
import { describeValues } from '../statistics/univariate.ts';
import { fewestValues, type Leakage, mostBelowShare } from './lognormal.ts';
import { outsideValidity, requireConfidence, scatters } from './validity.ts';

/** One ensemble's leakages by subject. */
export interface EnsembleLeakages {
  readonly ensemble: string;
  readonly bySubject: ReadonlyMap<string, Leakage>;
}

/** How many times as much `upper` leaks as `lower`. */
export interface LeakageRatio {
  readonly lower: string;
  readonly upper: string;
  readonly ratio: number;
  /** Simultaneous: all intervals of one comparison hold together with the confidence. */
  readonly low: number;
  readonly high: number;
  /** Chance of a ratio as far from 1 or farther where both leak alike, times the number of ratios, at most 1. */
  readonly probability: number;
  readonly method: 'paired' | 'paired-censored' | 'unpaired';
  /** Subjects behind it: pairs, or those of both ensembles. */
  readonly subjects: number;
  /** Pairs of which one value lies below its limit. */
  readonly below: number;
}

/**
 * Ratio of geometric means of two ensembles, on logarithms. Paired by subject where at least three wore both: t of the
 * differences. Where nobody wore both: t by Welch with Satterthwaite's degrees of freedom. Simultaneous over `ratios`
 * intervals by Bonferroni. A pair with one value below its limit is a difference known on one side, and where all such
 * lie on the same side the differences are fitted by maximum likelihood; approximate.
 * @throws ChambersideError `outside-validity` where neither holds.
 */
export function leakageRatio(
  lower: EnsembleLeakages,
  upper: EnsembleLeakages,
  ratios: number,
  confidence = 0.95,
): LeakageRatio {
  requireConfidence(confidence, 'confidence', 'ratio of geometric means');
  const common = [...lower.bySubject.keys()].filter((subject) => upper.bySubject.has(subject));
  const difference = common.length > 0 ? paired(lower, upper, common) : unpaired(lower, upper);
  const { mean, error, degreesOfFreedom, ...how } = difference;
  const reach = studentQuantile(1 - (1 - confidence) / (2 * ratios), degreesOfFreedom) * error;
  return {
    lower: lower.ensemble,
    upper: upper.ensemble,
    ratio: Math.exp(mean),
    low: Math.exp(mean - reach),
    high: Math.exp(mean + reach),
    probability: Math.min(1, 2 * ratios * studentProbability(-Math.abs(mean / error), degreesOfFreedom)),
    ...how,
  };
}

interface Difference extends Pick<LeakageRatio, 'method' | 'subjects' | 'below'> {
  /** Of logarithms. */
  readonly mean: number;
  readonly error: number;
  readonly degreesOfFreedom: number;
}

function paired(lower: EnsembleLeakages, upper: EnsembleLeakages, common: readonly string[]): Difference {
  const differences = common.map((subject) => {
    const before = lower.bySubject.get(subject) as Leakage;
    const after = upper.bySubject.get(subject) as Leakage;
    // Below the limit in the denominator: the true ratio is larger, and the other way round.
    const side = before.below && after.below ? 'unknown' : after.below ? 'smaller' : before.below ? 'larger' : 'known';
    return { value: logarithmOf(after) - logarithmOf(before), side };
  });
  const of = (...sides: string[]): number[] =>
    differences.filter(({ side }) => sides.includes(side)).map(({ value }) => value);
  const known = of('known');
  const [smaller, larger] = [of('smaller'), of('larger')];
  const below = smaller.length + larger.length;
  const counted = known.length + below;
  refuseFew(known.length, common.length, 'with both values above the limit');
  if (of('unknown').length > 0 || (smaller.length > 0 && larger.length > 0)) {
    const what = 'values below the limit stand on both sides of the ratio';
    throw outsideValidity(what, statistic, 'Compare at a probe where they do not, or by the share that passes.');
  }
  if (below > mostBelowShare * counted) {
    const what = `${below} of ${counted} pairs hold a value below its limit`;
    throw outsideValidity(what, statistic, 'A fit holds up to four in five.');
  }
  refuseSame(known);
  if (below === 0) {
    const { mean, standardDeviation } = describeValues(known);
    const error = standardDeviation / Math.sqrt(known.length);
    return { mean, error, degreesOfFreedom: known.length - 1, method: 'paired', subjects: known.length, below };
  }
  const sign = larger.length > 0 ? -1 : 1;
  const fit = fitCensoredNormal(
    known.map((value) => sign * value),
    [...smaller, ...larger].map((value) => sign * value),
  );
  const error = fit.standardErrorOfMean * Math.sqrt(counted / (counted - 1));
  const degreesOfFreedom = known.length - 1;
  return { mean: sign * fit.mean, error, degreesOfFreedom, method: 'paired-censored', subjects: counted, below };
}

function unpaired(lower: EnsembleLeakages, upper: EnsembleLeakages): Difference {
  const sides = [lower, upper].map(({ ensemble, bySubject }) => {
    const leakages = [...bySubject.values()];
    const below = leakages.filter((leakage) => leakage.below).length;
    if (below > 0) {
      const what = `${below} of ${leakages.length} values of ${ensemble} lie below their limit`;
      throw outsideValidity(what, statistic, 'Let the same subjects wear both, or compare at another probe.');
    }
    refuseFew(leakages.length, leakages.length, `in ${ensemble}`);
    const logs = leakages.map(logarithmOf);
    refuseSame(logs);
    const { mean, standardDeviation } = describeValues(logs);
    return { count: logs.length, mean, variance: standardDeviation ** 2 / logs.length };
  });
  const [first, second] = sides as [(typeof sides)[number], (typeof sides)[number]];
  const variance = first.variance + second.variance;
  const degreesOfFreedom =
    variance ** 2 / (first.variance ** 2 / (first.count - 1) + second.variance ** 2 / (second.count - 1));
  return {
    mean: second.mean - first.mean,
    error: Math.sqrt(variance),
    degreesOfFreedom,
    method: 'unpaired',
    subjects: first.count + second.count,
    below: 0,
  };
}

const statistic = 'ratio of geometric means';

function refuseFew(there: number, among: number, did: string): void {
  if (there >= fewestValues) return;
  const what = `too few subjects ${did}: ${there} of ${among}`;
  throw outsideValidity(what, statistic, `At least ${fewestValues} are needed.`);
}

function refuseSame(logs: readonly number[]): void {
  if (scatters(logs)) return;
  throw outsideValidity('nothing scatters', statistic, 'Look at the trials: subjects do not agree to the last digit.');
}

function logarithmOf({ percent }: Leakage): number {
  if (percent > 0 && percent < Infinity) return Math.log(percent);
  const todo = 'Give it as below its detection limit: zero and less have no logarithm.';
  throw outsideValidity(`a leakage of ${percent} % has no place on a log scale`, statistic, todo);
}
