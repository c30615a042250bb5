import logGamma from '@stdlib/math-base-special-gammaln';
import { noncentralStudentProbability, normalProbability, studentProbability } from './distributions.ts';

/** Largest noncentrality that the sum of `noncentralStudentProbability` holds. */
export const mostSummedNoncentrality = 37.6;

/** Beyond it the tail is that at it, which is lower; a plan that reaches it has a chance of all but 1. */
const mostNoncentrality = 1000;

/**
 * Share of the noncentral t distribution above a value, also where the noncentrality is larger than the sum holds:
 * there as the mean of Φ(δ − value · s) over s, the root of a χ² over its degrees of freedom, from the definition. By
 * the trapezium rule on ln s, which converges faster than any power of the step for such an integrand.
 * @param value above zero. @param noncentrality δ, −37.6 and more; beyond 1000 the share at 1000.
 * @throws RangeError for arguments outside of that.
 */
export function noncentralStudentAbove(value: number, degreesOfFreedom: number, noncentrality: number): number {
  if (!(value > 0 && value < Infinity)) throw new RangeError(`the value must be above zero: it is ${value}`);
  if (noncentrality === 0) return 1 - studentProbability(value, degreesOfFreedom);
  if (noncentrality <= mostSummedNoncentrality) {
    return 1 - noncentralStudentProbability(value, degreesOfFreedom, noncentrality);
  }
  const delta = Math.min(mostNoncentrality, noncentrality);
  const half = degreesOfFreedom / 2;
  const logScale = Math.LN2 + half * Math.log(half) - logGamma(half);
  const logDensity = (at: number): number => logScale + degreesOfFreedom * at - half * Math.exp(2 * at);
  // Below, Φ is 1 to the last digit, or the density nothing.
  const first = Math.max(Math.log((delta - 9) / value), -1 - 40 / degreesOfFreedom);
  const step = Math.min(0.25 / Math.sqrt(degreesOfFreedom), 0.35 / delta);
  let short = 0;
  for (let at = first; at < 0 || logDensity(at) > -45; at += step) {
    short += Math.exp(logDensity(at)) * normalProbability(value * Math.exp(at) - delta);
  }
  return Math.min(1, Math.max(0, 1 - step * short));
}

/** Share of χ² of an even number of degrees of freedom above a value: a sum of Poisson probabilities, exact. */
export function evenChiSquareAbove(value: number, degreesOfFreedom: number): number {
  if (!(value >= 0 && degreesOfFreedom >= 2 && degreesOfFreedom % 2 === 0)) {
    throw new RangeError(`χ² of ${degreesOfFreedom} degrees of freedom at ${value}`);
  }
  if (value === 0) return 1;
  const logHalf = Math.log(value / 2);
  let logTerm = -value / 2;
  let sum = 0;
  for (let index = 0; index < degreesOfFreedom / 2; index += 1) {
    if (index > 0) logTerm += logHalf - Math.log(index);
    sum += Math.exp(logTerm);
  }
  return Math.min(1, sum);
}
