import type { BlankScatter } from '../calibration/blank-scatter.ts';
import type { Method } from '../model/method.ts';
import { studentQuantile } from '../statistics/distributions.ts';

/** Probability at which t·s holds what blanks alone would read: 40 CFR 136, appendix B. */
const blankProbability = 0.99;

/**
 * How many standard uncertainties of a value that holds no leakage make its detection limit: 3 s, 10 s, or Student's
 * t(0.99, ν) · s with the ν that readings of filtered air are worth, which repeat each other.
 * @param blank scatter of the trial's filtered air; null: not known, so that there is no limit either.
 */
export function limitFactor(method: Method, blank: BlankScatter | null): number {
  switch (method.detectionLimit) {
    case undefined:
      return method.detectionFactor;
    case 'three-s':
      return 3;
    case 'ten-s':
      return 10;
    case 't-s':
      return studentQuantile(blankProbability, blank === null ? 1 : degreesOf(blank));
  }
}

/** Readings that repeat each other are worth fewer, never less than one. */
function degreesOf({ autocorrelationSum, degreesOfFreedom }: BlankScatter): number {
  return Math.max(1, degreesOfFreedom / Math.max(1, autocorrelationSum));
}
