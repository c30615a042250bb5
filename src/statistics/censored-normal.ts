import { normalProbability } from './distributions.ts';
import { sumOf } from './univariate.ts';

/** A normal distribution fitted to values of which some are known only to lie below a limit. Unit of the values. */
export interface CensoredNormalFit {
  readonly mean: number;
  /** By maximum likelihood: divided by n, not by n − 1, where nothing is censored. */
  readonly standardDeviation: number;
  /** From the curvature of the likelihood at its top. */
  readonly standardErrorOfMean: number;
  readonly logLikelihood: number;
}

/**
 * Fits a normal distribution by maximum likelihood to values that were read, and to limits below which others lie.
 * In 1/σ and µ/σ the likelihood has one top and no other (R. J. Olsen, Econometrica 46 (1978) 1211; from memory), which
 * Newton's steps reach from anywhere when they are halved as long as they do not climb.
 * @param values read: at least two that differ, or the likelihood has no top.
 * @param limits of those that were not.
 * @throws RangeError otherwise, and for anything that is no finite number.
 */
export function fitCensoredNormal(values: readonly number[], limits: readonly number[]): CensoredNormalFit {
  const [origin = 0] = values;
  if (![...values, ...limits].every(Number.isFinite)) throw new RangeError('every value must be a finite number');
  const scale = Math.max(...values) - Math.min(...values);
  if (!(values.length >= 2 && scale > 0)) throw new RangeError('the fit needs at least two values that differ');
  const read = values.map((value) => (value - origin) / scale);
  const below = limits.map((limit) => (limit - origin) / scale);
  let at: Place = { location: sumOf(read) / read.length, precision: 1 };
  let top = rise(read, below, at);
  for (let round = 0; round < 200; round += 1) {
    const step = newtonStep(top);
    let shrink = 1;
    let next = at;
    let there = top;
    for (; shrink > 1e-12; shrink /= 2) {
      next = { location: at.location + shrink * step.location, precision: at.precision + shrink * step.precision };
      if (next.precision <= 0) continue;
      there = rise(read, below, next);
      if (there.logLikelihood >= top.logLikelihood) break;
    }
    // No step climbs any more: what is left is rounding.
    if (!(there.logLikelihood >= top.logLikelihood)) break;
    const moved = Math.hypot(next.location - at.location, next.precision - at.precision);
    at = next;
    top = there;
    if (moved <= 1e-15 * Math.hypot(at.location, at.precision)) break;
  }
  const [first, both, second] = top.curvature;
  const determinant = first * second - both * both;
  const byLocation = 1 / at.precision;
  const byPrecision = -at.location / at.precision ** 2;
  const variance =
    -(second * byLocation ** 2 - 2 * both * byLocation * byPrecision + first * byPrecision ** 2) / determinant;
  return {
    mean: origin + (scale * at.location) / at.precision,
    standardDeviation: scale / at.precision,
    standardErrorOfMean: scale * Math.sqrt(variance),
    logLikelihood: top.logLikelihood - values.length * Math.log(scale),
  };
}

/** µ/σ and 1/σ. */
interface Place {
  readonly location: number;
  readonly precision: number;
}

interface Rise {
  readonly logLikelihood: number;
  readonly slope: Place;
  /** Second derivatives: by location twice, by both, by precision twice. */
  readonly curvature: readonly [number, number, number];
}

function rise(read: readonly number[], below: readonly number[], { location, precision }: Place): Rise {
  const residuals = read.map((value) => precision * value - location);
  const tails = below.map((limit) => ({ limit, ...lowerTail(precision * limit - location) }));
  const total = (of: (tail: (typeof tails)[number]) => number): number => sumOf(tails.map(of));
  const overRead = (of: (value: number, residual: number) => number): number =>
    sumOf(read.map((value, index) => of(value, residuals[index] as number)));
  const each = Math.log(precision) - halfLogTwoPi;
  return {
    logLikelihood: overRead((_, residual) => each - residual ** 2 / 2) + total((tail) => tail.logProbability),
    slope: {
      location: overRead((_, residual) => residual) - total((tail) => tail.hazard),
      precision:
        overRead((value, residual) => 1 / precision - value * residual) + total((tail) => tail.limit * tail.hazard),
    },
    curvature: [
      -read.length - total((tail) => tail.bend),
      sumOf(read) + total((tail) => tail.limit * tail.bend),
      -overRead((value) => value ** 2 + precision ** -2) - total((tail) => tail.limit ** 2 * tail.bend),
    ],
  };
}

function newtonStep({ slope, curvature: [first, both, second] }: Rise): Place {
  const determinant = first * second - both * both;
  return {
    location: -(second * slope.location - both * slope.precision) / determinant,
    precision: -(first * slope.precision - both * slope.location) / determinant,
  };
}

const halfLogTwoPi = Math.log(2 * Math.PI) / 2;

/** ln Φ(u), h = φ(u)/Φ(u), and h (u + h), which is −d²lnΦ/du². */
function lowerTail(value: number): { logProbability: number; hazard: number; bend: number } {
  if (value > -20) {
    const probability = normalProbability(value);
    const hazard = Math.exp(-(value ** 2) / 2 - halfLogTwoPi) / probability;
    return { logProbability: Math.log(probability), hazard, bend: hazard * (value + hazard) };
  }
  // Laplace's continued fraction: 1/(t + 1/(t + 2/(t + …))) is Φ(−t)/φ(t).
  const distance = -value;
  let excess = 0;
  for (let term = 40; term >= 1; term -= 1) excess = term / (distance + excess);
  const hazard = distance + excess;
  return { logProbability: -(value ** 2) / 2 - halfLogTwoPi - Math.log(hazard), hazard, bend: hazard * excess };
}
