import type { Method } from '../model/method.ts';

/**
 * The method a trial is assessed by when nobody chooses another: every correction on. Made for a photometer with a
 * time constant up to about 1 s; at 1 s and a window of 12 s, what is left of 100 % is 2·10⁻⁵ of it after 5 s of
 * settling and lag correction (u(tau) 3 %), and 3·10⁻⁷ after the 9 s of a zero.
 */
export const firstMethod: Method = {
  name: 'first',
  version: 2,
  spanSource: 'chamber-reference',
  interpolation: 'linear',
  settling: { rule: 'fixed', seconds: 5 },
  zeroSettlingSeconds: 9,
  lagCorrection: true,
  lagEndSeconds: 0.3,
  guardDispersions: 3,
  subtractBackground: true,
  applyDilution: true,
  applyPenetration: true,
  applySpatialFactor: true,
  carryOverPercent: 1,
  detectionFactor: 3,
  challengeChangePercent: 10,
  zeroChangePercent: 0.2,
  zeroStepDeviations: 5,
  spanChangePercent: 10,
};
