/**
 * A quantity that wanders about its course as a first-order process of a time constant T, autocovariance
 * σ² e^(−t/T): a well-mixed chamber whose generator fluctuates. All functions here count in units of σ².
 */

/** A stretch of time over which the quantity was averaged, s. */
export interface Stretch {
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/**
 * Covariance of the means over two stretches that do not overlap, or of one with itself (equal ends), by integrating
 * the autocovariance: 2 (T/L)² (L/T − 1 + e^(−L/T)) for one and
 * (T²/L₁L₂)(1 − e^(−L₁/T))(1 − e^(−L₂/T)) e^(−gap/T) for two.
 * Stretches that overlap in part count as if they touched.
 * @throws RangeError for a time constant or a length that is not positive.
 */
export function covarianceOfMeans(one: Stretch, other: Stretch, timeConstantSeconds: number): number {
  const tau = timeConstantSeconds;
  const length = one.toSeconds - one.fromSeconds;
  const otherLength = other.toSeconds - other.fromSeconds;
  if (!(tau > 0) || !(length > 0) || !(otherLength > 0)) {
    throw new RangeError('the time constant and both stretches must be longer than nothing');
  }
  if (one.fromSeconds === other.fromSeconds && one.toSeconds === other.toSeconds) {
    const ratio = length / tau;
    // ratio − 1 + e^(−ratio) loses its digits for short stretches; its series begins with ratio²/2.
    return ratio < 1e-4 ? 1 - ratio / 3 : (2 * (ratio + Math.expm1(-ratio))) / (ratio * ratio);
  }
  const gap = Math.max(0, one.fromSeconds - other.toSeconds, other.fromSeconds - one.toSeconds);
  const ends = Math.expm1(-length / tau) * Math.expm1(-otherLength / tau);
  return ((tau * tau) / (length * otherLength)) * ends * Math.exp(-gap / tau);
}

/**
 * Variance of mean(target) − [(1 − w) mean(before) + w mean(after)]: what a straight line between two means misses.
 * @param weightAfter w, 0 to 1.
 */
export function interpolationVariance(
  target: Stretch,
  before: Stretch,
  after: Stretch,
  weightAfter: number,
  timeConstantSeconds: number,
): number {
  const covariance = (one: Stretch, other: Stretch): number => covarianceOfMeans(one, other, timeConstantSeconds);
  const early = 1 - weightAfter;
  return (
    covariance(target, target) +
    early * early * covariance(before, before) +
    weightAfter * weightAfter * covariance(after, after) +
    2 * early * weightAfter * covariance(before, after) -
    2 * early * covariance(target, before) -
    2 * weightAfter * covariance(target, after)
  );
}
