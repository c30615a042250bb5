/**
 * First-order response: what a photometer with one time constant shows after a step. All functions take times in
 * seconds and refuse a time constant that is not positive.
 */

/** Share of a step that shows after a time: 1 − e^(−t/tau), 0 before the step. */
export function stepResponse(secondsAfterStep: number, timeConstantSeconds: number): number {
  requirePositive(timeConstantSeconds);
  return secondsAfterStep <= 0 ? 0 : -Math.expm1(-secondsAfterStep / timeConstantSeconds);
}

/** Share of a step that is still missing after a time: e^(−t/tau), 1 before the step. */
export function remainingShare(secondsAfterStep: number, timeConstantSeconds: number): number {
  requirePositive(timeConstantSeconds);
  return secondsAfterStep <= 0 ? 1 : Math.exp(-secondsAfterStep / timeConstantSeconds);
}

/**
 * Time until a share of a step shows: −tau · ln(1 − share). t90 = 2.3026 tau, t95 = 2.9957 tau, t99 = 4.6052 tau.
 * @throws RangeError unless 0 ≤ share < 1.
 */
export function responseSeconds(share: number, timeConstantSeconds: number): number {
  requirePositive(timeConstantSeconds);
  if (!(share >= 0 && share < 1)) throw new RangeError('the share of the step must lie in [0, 1)');
  return -timeConstantSeconds * Math.log1p(-share);
}

function requirePositive(timeConstantSeconds: number): void {
  if (!(timeConstantSeconds > 0)) throw new RangeError('the time constant must be greater than zero');
}
