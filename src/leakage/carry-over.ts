import type { Stated } from '../model/rig.ts';

/**
 * What the previous port still adds to a window's mean, in the unit of the readings:
 * Δ · u(tau) · e^(−s/tau)/W after the lag correction, Δ · tau · e^(−s/tau)/W without it. After the correction
 * only the error of tau is left, to first order. Dispersion of the common line delays part of the step: × e^(σ²/2tau²).
 *
 * @param step Δ: reading just before this port's air arrived, minus this window's mean.
 * @param settledSeconds s: from the arrival of this port's air to the beginning of the window.
 * @param windowSeconds W. @throws RangeError unless it is greater than zero.
 */
export function carryOver(
  step: number,
  timeConstant: Stated,
  dispersionSeconds: number,
  settledSeconds: number,
  windowSeconds: number,
  lagCorrected: boolean,
): number {
  const tau = timeConstant.value;
  if (!(tau > 0)) return 0;
  if (!(windowSeconds > 0)) throw new RangeError('the window must have a length');
  const exponent = (dispersionSeconds * dispersionSeconds) / (2 * tau * tau) - settledSeconds / tau;
  const delayed = Math.exp(Math.min(exponent, 0));
  return (step * (lagCorrected ? timeConstant.standardUncertainty : tau) * delayed) / windowSeconds;
}

/**
 * A zero counts as still falling when its second half lies below its first by this many standard uncertainties:
 * rare enough (3 in 100 000) that twelve zeros in each of many trials raise no false flags.
 */
export const zeroSlopeFactor = 4;

/**
 * Does a zero dwell still move away from the port before it? Its halves, each corrected for the photometer's lag,
 * are compared: what remains after that is a slower tail (wall desorption, laminar wash-out), which the time
 * constant does not know.
 *
 * @param firstHalf, secondHalf corrected means of the halves.
 * @param driftBetweenHalves what the zero's own drift, known from the zeros around, accounts for.
 * @param standardUncertainty of the difference of the halves, from blank scatter.
 * @param step reading just before the zero's air arrived, minus the zero: the direction a tail comes from.
 */
export function stillSettling(
  firstHalf: number,
  secondHalf: number,
  driftBetweenHalves: number,
  standardUncertainty: number,
  step: number,
): boolean {
  const fall = firstHalf - secondHalf + driftBetweenHalves;
  return Math.sign(step) * fall > zeroSlopeFactor * standardUncertainty;
}
