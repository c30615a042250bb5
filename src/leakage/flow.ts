import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';

/**
 * A probe's window against filtered air, nothing subtracted but the zero; readings and their standard uncertainties.
 */
export interface WindowAgainstAir {
  /** R − Z. */
  readonly net: number;
  readonly windowNoise: number;
  readonly zeroNoise: number;
}

/**
 * Do the windows of a probe, taken together, read no more than filtered air? Air from inside an ensemble carries at
 * least the probe's background, whatever leaks; a line through which nothing flows reads zero. So a probe whose
 * windows do not rise above zero has not shown that it was open. Its background cannot show it either: it was read
 * before, and a line may be blocked since.
 *
 * The mean over the windows is held against `detectionFactor` times its standard uncertainty: noise of the windows
 * is independent, that of the zeros is counted as one input that all share. That is too much for zeros that differ,
 * and leaves room for what the zero does between them.
 * @returns null where the probe has shown flow, or has no window.
 */
export function doubtOfFlow(windows: readonly WindowAgainstAir[], detectionFactor: number): Doubt | null {
  if (windows.length === 0) return null;
  let net = 0;
  let windowVariance = 0;
  let zeroNoise = 0;
  for (const window of windows) {
    net += window.net;
    windowVariance += window.windowNoise ** 2;
    zeroNoise += window.zeroNoise;
  }
  const limit = detectionFactor * Math.hypot(Math.sqrt(windowVariance), zeroNoise);
  if (!(net < limit)) return null;
  const count = windows.length;
  return doubt(
    'no-flow',
    null,
    `mean over the ${count} windows of the probe, minus zero`,
    figure(net / count, limit / count, 'reading'),
  );
}
