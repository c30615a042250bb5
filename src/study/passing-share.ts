import { betaQuantile } from '../statistics/distributions.ts';
import { outsideValidity, requireConfidence } from './validity.ts';

/** A share of subjects with its exact interval; shares from 0 to 1. */
export interface PassingShare {
  readonly passed: number;
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
 * @throws ChambersideError `outside-validity` unless 0 ≤ passed ≤ count, both whole, and 1 ≤ count ≤ 10 000.
 */
export function passingShare(passed: number, count: number, confidence = 0.95): PassingShare {
  requireConfidence(confidence, 'confidence', 'share that passes');
  const whole = Number.isInteger(passed) && Number.isInteger(count);
  if (!(whole && passed >= 0 && passed <= count && count >= 1 && count <= 10_000)) {
    const todo = 'Give whole numbers, 1 to 10 000 subjects, and not more that pass.';
    throw outsideValidity(`${passed} of ${count} is no share`, 'share that passes', todo);
  }
  const lower = (doubt: number): number => (passed === 0 ? 0 : betaQuantile(doubt, passed, count - passed + 1));
  const half = (1 - confidence) / 2;
  return {
    passed,
    count,
    share: passed / count,
    low: lower(half),
    high: passed === count ? 1 : betaQuantile(1 - half, passed + 1, count - passed),
    atLeast: lower(1 - confidence),
  };
}
