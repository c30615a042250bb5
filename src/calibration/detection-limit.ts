import { normalQuantile, studentQuantile } from '../statistics/distributions.ts';

/** Limits derived from the scatter of blanks, all in the unit of the blanks and counted above their mean. */
export interface DetectionLimits {
  readonly blanks: number;
  readonly mean: number;
  /** Sample standard deviation (n − 1). */
  readonly standardDeviation: number;
  /** 3 s. */
  readonly detection: number;
  /** 10 s. */
  readonly quantitation: number;
  /** t(0.99, n − 1) · s: the method detection limit of 40 CFR 136 App. B. */
  readonly methodDetection: number;
  /** Currie's decision level for a paired blank: 1.645 · √2 · s. */
  readonly decision: number;
  /** Currie's detection limit for a paired blank: 3.29 · √2 · s. */
  readonly pairedDetection: number;
}

/** z(0.95) of the normal distribution: 5 % of either kind of error. */
const currieFactor = normalQuantile(0.95);

/**
 * Detection limits from independent blanks.
 * @throws RangeError for fewer than two blanks or a blank that is not finite.
 */
export function detectionLimits(blanks: readonly number[]): DetectionLimits {
  const count = blanks.length;
  if (count < 2) throw new RangeError('a scatter needs at least two blanks');
  if (!blanks.every(Number.isFinite)) throw new RangeError('every blank must be a finite number');
  let sum = 0;
  for (const blank of blanks) sum += blank;
  const mean = sum / count;
  let squares = 0;
  for (const blank of blanks) squares += (blank - mean) * (blank - mean);
  const standardDeviation = Math.sqrt(squares / (count - 1));
  return {
    blanks: count,
    mean,
    standardDeviation,
    detection: 3 * standardDeviation,
    quantitation: 10 * standardDeviation,
    methodDetection: studentQuantile(0.99, count - 1) * standardDeviation,
    decision: currieFactor * Math.SQRT2 * standardDeviation,
    pairedDetection: 2 * currieFactor * Math.SQRT2 * standardDeviation,
  };
}
