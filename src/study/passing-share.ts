import { betaQuantile } from '../statistics/distributions.ts';
import { outsideValidity, requireConfidence } from './validity.ts';

/**
 * A share of subjects with its exact interval; shares from 0 to 1. Bounds hold whatever those did of whom it cannot be
 * told: the lower ones count them as not complying, the upper one as complying.
 */
export interface PassingShare {
  readonly passed: number;
  /** Of whom it can be told. */
  readonly count: number;
  readonly share: number;
  /** Two-sided. */
  readonly low: number;
  readonly high: number;
  /** One-sided: with this confidence at least that share complies. */
  readonly atLeast: number;
}

/**
 * Interval of a share by C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404, as beta quantiles; exact, so that
 * it holds at least what it says. The counted things must be independent: subjects, not the cells of one.
 * @param untold how many more there are, of whom it cannot be told.
 * @throws ChambersideError `outside-validity` unless 0 ≤ passed ≤ count, all whole, count ≥ 1, count + untold ≤ 10 000.
 */
export function passingShare(passed: number, count: number, confidence = 0.95, untold = 0): PassingShare {
  requireConfidence(confidence, 'confidence', 'share that passes');
  const whole = [passed, count, untold].every((number) => Number.isInteger(number) && number >= 0);
  const all = count + untold;
  if (!(whole && passed <= count && count >= 1 && all <= 10_000)) {
    const todo = 'Give whole numbers, 1 to 10 000 subjects, and not more that pass.';
    throw outsideValidity(`${passed} of ${count} is no share`, 'share that passes', todo);
  }
  const lower = (doubt: number): number => (passed === 0 ? 0 : betaQuantile(doubt, passed, all - passed + 1));
  const half = (1 - confidence) / 2;
  return {
    passed,
    count,
    share: passed / count,
    low: lower(half),
    high: passed === count ? 1 : betaQuantile(1 - half, passed + untold + 1, count - passed),
    atLeast: lower(1 - confidence),
  };
}
