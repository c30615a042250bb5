/**
 * Quantiles and distribution functions, from a well-kept library where it has them (decision 0060). All arguments are
 * single numbers without unit; degrees of freedom may be broken. Every function throws a RangeError that names the
 * argument for a probability outside (0, 1), degrees of freedom that are not positive, or anything that is no number.
 */
import betaIncomplete from '@stdlib/math-base-special-betainc';
import logGamma from '@stdlib/math-base-special-gammaln';
import betaQuantileOf from '@stdlib/stats-base-dists-beta-quantile';
import chiSquareQuantileOf from '@stdlib/stats-base-dists-chisquare-quantile';
import fProbabilityOf from '@stdlib/stats-base-dists-f-cdf';
import fQuantileOf from '@stdlib/stats-base-dists-f-quantile';
import normalProbabilityOf from '@stdlib/stats-base-dists-normal-cdf';
import normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import studentProbabilityOf from '@stdlib/stats-base-dists-t-cdf';
import studentQuantileOf from '@stdlib/stats-base-dists-t-quantile';
import { rootBetween } from './root.ts';

/** Quantile of the standard normal distribution. */
export function normalQuantile(probability: number): number {
  requireProbability(probability);
  return normalQuantileOf(probability, 0, 1);
}

/** Share of the standard normal distribution below a value. */
export function normalProbability(value: number): number {
  requireNumber('the value', value);
  return normalProbabilityOf(value, 0, 1);
}

/** Quantile of Student's t. Infinite degrees of freedom give the normal quantile. */
export function studentQuantile(probability: number, degreesOfFreedom: number): number {
  requireProbability(probability);
  requirePositive('the degrees of freedom', degreesOfFreedom);
  if (degreesOfFreedom === Infinity) return normalQuantile(probability);
  return studentQuantileOf(probability, degreesOfFreedom);
}

/** Share of Student's t below a value. */
export function studentProbability(value: number, degreesOfFreedom: number): number {
  requireNumber('the value', value);
  requirePositive('the degrees of freedom', degreesOfFreedom);
  if (degreesOfFreedom === Infinity) return normalProbability(value);
  return studentProbabilityOf(value, degreesOfFreedom);
}

/** Quantile of the chi-square distribution. */
export function chiSquareQuantile(probability: number, degreesOfFreedom: number): number {
  requireProbability(probability);
  requirePositive('the degrees of freedom', degreesOfFreedom);
  return chiSquareQuantileOf(probability, degreesOfFreedom);
}

/** Quantile of F with degrees of freedom above and below the line. */
export function fQuantile(probability: number, above: number, below: number): number {
  requireProbability(probability);
  requirePositive('the degrees of freedom above the line', above);
  requirePositive('the degrees of freedom below the line', below);
  return fQuantileOf(probability, above, below);
}

/** Share of F below a value. */
export function fProbability(value: number, above: number, below: number): number {
  requireNumber('the value', value);
  requirePositive('the degrees of freedom above the line', above);
  requirePositive('the degrees of freedom below the line', below);
  return fProbabilityOf(value, above, below);
}

/** Quantile of the beta distribution with its two shapes. */
export function betaQuantile(probability: number, first: number, second: number): number {
  requireProbability(probability);
  requirePositive('the first shape', first);
  requirePositive('the second shape', second);
  return betaQuantileOf(probability, first, second);
}

/**
 * Share of the noncentral t distribution below a value: R. V. Lenth, Applied Statistics 38 (1989) 185, AS 243, a sum of
 * incomplete beta functions weighted by Poisson probabilities. It is summed outward from the largest weight, downward
 * to the very first term: to stop there at the first small term loses the lower tail (1e-9).
 * @param noncentrality δ, between −37.6 and 37.6: beyond, e^(−δ²/2) is no longer a number of double precision.
 * @throws RangeError outside of that.
 */
export function noncentralStudentProbability(value: number, degreesOfFreedom: number, noncentrality: number): number {
  requireNumber('the value', value);
  requirePositive('the degrees of freedom', degreesOfFreedom);
  requireNoncentrality(noncentrality);
  if (noncentrality === 0) return studentProbability(value, degreesOfFreedom);
  if (value < 0) return 1 - noncentralStudentProbability(-value, degreesOfFreedom, -noncentrality);
  const below = normalProbability(-noncentrality);
  if (value === 0) return below;
  const square = value * value;
  const share = square / (degreesOfFreedom + square);
  const half = (noncentrality * noncentrality) / 2;
  const term = (index: number): number => {
    const logPower = index * Math.log(half) - half;
    const even = Math.exp(logPower - logGamma(index + 1)) * betaIncomplete(share, index + 0.5, degreesOfFreedom / 2);
    const odd = Math.exp(logPower - logGamma(index + 1.5)) * betaIncomplete(share, index + 1, degreesOfFreedom / 2);
    return even + (noncentrality / Math.SQRT2) * odd;
  };
  const mode = Math.floor(half);
  let sum = 0;
  for (let index = mode; index >= 0; index -= 1) sum += term(index);
  for (let index = mode + 1; index < mode + 2000; index += 1) {
    const next = term(index);
    sum += next;
    if (Math.abs(next) < 1e-17) break;
  }
  return Math.min(Math.max(below + sum / 2, 0), 1);
}

/**
 * Quantile of the noncentral t distribution, found between two values that bracket it. A one-sided tolerance factor for
 * coverage p and confidence γ of n values is noncentralStudentQuantile(γ, n − 1, z(p) √n)/√n.
 */
export function noncentralStudentQuantile(
  probability: number,
  degreesOfFreedom: number,
  noncentrality: number,
): number {
  requireProbability(probability);
  requirePositive('the degrees of freedom', degreesOfFreedom);
  requireNoncentrality(noncentrality);
  if (noncentrality === 0) return studentQuantile(probability, degreesOfFreedom);
  const excess = (value: number): number =>
    noncentralStudentProbability(value, degreesOfFreedom, noncentrality) - probability;
  let reach = 1 + Math.abs(studentQuantile(probability, degreesOfFreedom)) * (1 + Math.abs(noncentrality));
  while (excess(noncentrality - reach) > 0) reach *= 2;
  const lowest = noncentrality - reach;
  reach = 1;
  while (excess(noncentrality + reach) < 0) reach *= 2;
  return rootBetween(excess, lowest, noncentrality + reach);
}

/** One line of a budget: a standard uncertainty, and what is known of it. */
export interface UncertainPart {
  /** In the unit of the result (sensitivity included), not negative. */
  readonly standardUncertainty: number;
  /** Positive; Infinity for a value that is certain. */
  readonly degreesOfFreedom: number;
}

/**
 * Effective degrees of freedom by Welch and Satterthwaite: ν = (Σ u²)² / Σ (u⁴/ν). JCGM 100:2008, G.4.1. Independent
 * parts only. Not rounded: tables of old ask for the whole number below.
 * @returns Infinity when no part with a finite number of degrees contributes.
 */
export function effectiveDegreesOfFreedom(parts: readonly UncertainPart[]): number {
  // Scaled by the largest part, so that fourth powers neither vanish nor overflow.
  let largest = 0;
  for (const { standardUncertainty, degreesOfFreedom } of parts) {
    requirePositive('the degrees of freedom', degreesOfFreedom);
    if (!(standardUncertainty >= 0 && standardUncertainty < Infinity)) {
      throw new RangeError(`a standard uncertainty must be a number and not negative: it is ${standardUncertainty}`);
    }
    largest = Math.max(largest, standardUncertainty);
  }
  if (largest === 0) return Infinity;
  let squares = 0;
  let fourths = 0;
  for (const { standardUncertainty, degreesOfFreedom } of parts) {
    const square = (standardUncertainty / largest) ** 2;
    squares += square;
    fourths += (square * square) / degreesOfFreedom;
  }
  return fourths === 0 ? Infinity : (squares * squares) / fourths;
}

function requireProbability(probability: number): void {
  if (!(probability > 0 && probability < 1)) {
    throw new RangeError(`the probability must lie between 0 and 1: it is ${probability}`);
  }
}

function requirePositive(name: string, value: number): void {
  if (!(value > 0)) throw new RangeError(`${name} must be greater than zero: it is ${value}`);
}

function requireNumber(name: string, value: number): void {
  if (Number.isNaN(value)) throw new RangeError(`${name} must be a number`);
}

function requireNoncentrality(noncentrality: number): void {
  if (!(Math.abs(noncentrality) <= 37.6)) {
    throw new RangeError(`the noncentrality must lie between -37.6 and 37.6: it is ${noncentrality}`);
  }
}
