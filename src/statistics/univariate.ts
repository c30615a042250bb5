/**
 * Sum whose rounding errors are carried along (A. Neumaier, Z. Angew. Math. Mech. 54 (1974) 39).
 * @returns 0 for no values; NaN or an infinity when one is among them.
 */
export function sumOf(values: ArrayLike<number>): number {
  let sum = 0;
  let lost = 0;
  for (let index = 0; index < values.length; index += 1) {
    const value = values[index] as number;
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  return Number.isFinite(sum) ? sum + lost : sum;
}

/** Mean and scatter of single values, in their own unit. */
export interface Univariate {
  readonly count: number;
  readonly mean: number;
  /** Sample standard deviation (n − 1). */
  readonly standardDeviation: number;
  /** Correlation of each value with the next; null when the values do not scatter. */
  readonly lagOneCorrelation: number | null;
}

/**
 * Mean, standard deviation and lag-1 autocorrelation in two passes, counted from the first value: the shortcut by sums
 * of squares loses everything where the scatter is small beside the mean.
 * @throws RangeError for fewer than two values, or one that is not finite.
 */
export function describeValues(values: ArrayLike<number>): Univariate {
  const count = values.length;
  if (count < 2) throw new RangeError(`a scatter needs at least two values: there are ${count}`);
  const origin = values[0] as number;
  const shifted = Float64Array.from(values, (value) => value - origin);
  const offset = sumOf(shifted) / count;
  if (!Number.isFinite(offset)) throw new RangeError('every value must be a finite number');
  const deviations = shifted.map((value) => value - offset);
  const squares = sumOf(deviations.map((deviation) => deviation * deviation));
  const products = sumOf(deviations.subarray(1).map((deviation, index) => deviation * (deviations[index] as number)));
  return {
    count,
    mean: origin + offset,
    standardDeviation: Math.sqrt(squares / (count - 1)),
    lagOneCorrelation: squares > 0 ? products / squares : null,
  };
}
