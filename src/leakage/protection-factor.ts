/** Protection factor 100/IL; null where the leakage is not above zero, because no number is right there. */
export function protectionFactor(leakagePercent: number): number | null {
  return leakagePercent > 0 ? 100 / leakagePercent : null;
}

/**
 * Overall factor of several: N/Σ(1/f), leakages averaged and then inverted (29 CFR 1910.134 App. A). An
 * arithmetic mean of factors would let one good exercise hide a bad one.
 * @throws RangeError for none, or for a factor that is not greater than zero.
 */
export function overallProtectionFactor(factors: readonly number[]): number {
  if (factors.length === 0) throw new RangeError('an overall factor needs at least one factor');
  let sum = 0;
  for (const factor of factors) {
    if (!(factor > 0)) throw new RangeError('every factor must be greater than zero');
    sum += 1 / factor;
  }
  return factors.length / sum;
}
