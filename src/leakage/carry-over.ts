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

/** The time constant is taken for at most so many standard uncertainties longer than stated. */
export const boundDeviations = 3;

/**
 * The most that the previous port still adds to a window's mean, in the unit of the readings, while the time constant
 * lies within three standard uncertainties of its value. An instrument of the first order, tau·y′ + y = c, at rest at
 * y(0) = c + Δ, reads y(t) = c + Δ e^(−t/tau) (state of a first-order system; own integration of it):
 *
 *     mean of y over [s, s + W], minus c:              Δ · tau/W · (e^(−s/tau) − e^(−(s+W)/tau))
 *     the lag corrected with tau₀ takes away:          Δ · tau₀/W · (the same bracket)
 *     what is left:                                    Δ · (tau − tau₀)/W · (the same bracket)
 *
 * For every tau up to tau₀ + 3u that is less than Δ · 3u/W · e^(−s/(tau₀+3u)), and without lag correction less than
 * Δ · (tau₀+3u)/W · e^(−s/(tau₀+3u)). Dispersion of the common line as in `carryOver`.
 *
 * @param step Δ, @param settledSeconds s, @param windowSeconds W: as in `carryOver`, but s to the very first reading.
 * @returns with the sign of Δ. @throws RangeError unless W is greater than zero.
 */
export function carryOverBound(
  step: number,
  timeConstant: Stated,
  dispersionSeconds: number,
  settledSeconds: number,
  windowSeconds: number,
  lagCorrected: boolean,
): number {
  const beyond = boundDeviations * timeConstant.standardUncertainty;
  const slowest = { value: timeConstant.value + beyond, standardUncertainty: beyond };
  return carryOver(step, slowest, dispersionSeconds, settledSeconds, windowSeconds, lagCorrected);
}

/**
 * From this many detection limits on, carry-over is held against the value; below, against that many limits. With
 * the usual 1 % a tenth of the detection limit is then allowed, 0.3 of its standard uncertainty: together they
 * scatter 4 % more than noise alone, and a value is measured to 1 % from there on only.
 */
export const limitsOfFullShare = 10;

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
