import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { fewestValues } from './lognormal.ts';
import type { EnsembleLeakages } from './ratio.ts';
import { outsideValidity, requireConfidence } from './validity.ts';

/** A ratio of geometric means as it scatters when subjects are drawn again. */
export interface BootstrapRatio {
  readonly lower: string;
  readonly upper: string;
  /** Of the percentiles; simultaneous as those of `leakageRatio`. */
  readonly low: number;
  readonly high: number;
  readonly draws: number;
  readonly seed: number;
}

export const bootstrapDraws = 20_000;

/**
 * Bootstrap by subject: subjects are drawn with replacement, those who wore both as pairs, else within each ensemble,
 * and the interval is that between the percentiles of the ratios drawn, simultaneous over `ratios` by Bonferroni
 * (B. Efron, Annals of Statistics 7 (1979) 1, from memory). A check of the t interval, which needs normal logarithms:
 * with few subjects it is too narrow.
 * @param seed a whole number: the same seed gives the same interval everywhere.
 * @throws ChambersideError `outside-validity` for fewer than three subjects, and for values below a limit.
 */
export function bootstrapRatio(
  lower: EnsembleLeakages,
  upper: EnsembleLeakages,
  ratios: number,
  seed: number,
  confidence = 0.95,
): BootstrapRatio {
  requireConfidence(confidence, 'confidence', statistic);
  const common = [...lower.bySubject.keys()].filter((subject) => upper.bySubject.has(subject));
  const logs = (of: EnsembleLeakages, subjects: readonly string[]): number[] =>
    subjects.map((subject) => logarithmIn(of, subject));
  const generator = xoroshiro128plus(seed);
  const meanOfDrawn = (values: readonly number[]): number => {
    let sum = 0;
    for (let drawn = 0; drawn < values.length; drawn += 1) {
      sum += values[Math.floor(uniformFloat64(generator) * values.length)] ?? Number.NaN;
    }
    return sum / values.length;
  };
  const [first, second] =
    common.length > 0
      ? [logs(lower, common), logs(upper, common)]
      : [logs(lower, [...lower.bySubject.keys()]), logs(upper, [...upper.bySubject.keys()])];
  if (Math.min(first.length, second.length) < fewestValues) {
    const what = `too few subjects: ${Math.min(first.length, second.length)}`;
    throw outsideValidity(what, statistic, `At least ${fewestValues} are needed.`);
  }
  const differences = second.map((value, index) => value - (first[index] ?? Number.NaN));
  const drawn = new Float64Array(bootstrapDraws);
  for (let draw = 0; draw < bootstrapDraws; draw += 1) {
    drawn[draw] = common.length > 0 ? meanOfDrawn(differences) : meanOfDrawn(second) - meanOfDrawn(first);
  }
  drawn.sort();
  const tail = (1 - confidence) / (2 * ratios);
  return {
    lower: lower.ensemble,
    upper: upper.ensemble,
    low: Math.exp(quantile(drawn, tail)),
    high: Math.exp(quantile(drawn, 1 - tail)),
    draws: bootstrapDraws,
    seed,
  };
}

const statistic = 'bootstrap of a ratio';

/** Between the order statistics, as quantile() of R does by default. */
function quantile(sorted: Float64Array, probability: number): number {
  const place = probability * (sorted.length - 1);
  const below = Math.floor(place);
  const value = sorted[below] ?? Number.NaN;
  return value + (place - below) * ((sorted[below + 1] ?? value) - value);
}

function logarithmIn({ ensemble, bySubject }: EnsembleLeakages, subject: string): number {
  const leakage = bySubject.get(subject);
  if (leakage !== undefined && !leakage.below && leakage.percent > 0) return Math.log(leakage.percent);
  const what = `${subject} lies below the detection limit in ${ensemble}`;
  throw outsideValidity(what, statistic, 'Look at a place where every value is above its limit.');
}
