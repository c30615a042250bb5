/** Readings of filtered air that have settled; both arrays have one element per reading. */
export interface Blank {
  /** Since the beginning of the blank, s; ascending. */
  readonly seconds: Float64Array;
  readonly values: Float64Array;
}

/** How single readings of filtered air scatter, and how much they repeat each other. */
export interface BlankScatter {
  /** Of a single reading, in the stream's unit. */
  readonly standardDeviation: number;
  /** 1 + 2 Σ ρ: the variance of a mean of n readings is s² · this / n. */
  readonly autocorrelationSum: number;
  readonly degreesOfFreedom: number;
  readonly readings: number;
  readonly blanks: number;
}

/** Below this many readings a blank says nothing about scatter once its trend is removed. */
const fewestReadings = 10;

/**
 * Scatter pooled over blanks, each about its own trend: a level, a straight drift and what is left of the
 * previous port's decay are removed first, because none of them is noise.
 * @returns null when no blank has at least ten readings.
 */
export function blankScatter(blanks: readonly Blank[], timeConstantSeconds: number): BlankScatter | null {
  const residuals: Float64Array[] = [];
  let squares = 0;
  let degreesOfFreedom = 0;
  let readings = 0;
  for (const blank of blanks) {
    if (blank.values.length < fewestReadings) continue;
    const trend = removeTrend(blank, timeConstantSeconds);
    for (const residual of trend.residuals) squares += residual * residual;
    degreesOfFreedom += trend.degreesOfFreedom;
    readings += blank.values.length;
    residuals.push(trend.residuals);
  }
  if (residuals.length === 0) return null;
  return {
    standardDeviation: Math.sqrt(squares / degreesOfFreedom),
    autocorrelationSum: autocorrelationSum(residuals),
    degreesOfFreedom,
    readings,
    blanks: residuals.length,
  };
}

/**
 * Residuals of a blank about level + drift · t + decay · e^(−t/tau) by least squares (modified Gram–Schmidt, so
 * that nearly parallel terms cost a degree of freedom only when they explain something of their own).
 */
export function removeTrend(
  blank: Blank,
  timeConstantSeconds: number,
): { readonly residuals: Float64Array; readonly degreesOfFreedom: number } {
  const count = blank.values.length;
  const terms = [new Float64Array(count).fill(1), blank.seconds.slice()];
  if (timeConstantSeconds > 0) {
    const origin = blank.seconds[0] ?? 0;
    terms.push(blank.seconds.map((seconds) => Math.exp(-(seconds - origin) / timeConstantSeconds)));
  }
  // Counted from the first reading, so that equal readings leave residuals of exactly zero.
  const level = blank.values[0] ?? 0;
  const residuals = blank.values.map((value) => value - level);
  const basis: Float64Array[] = [];
  for (const term of terms) {
    const original = dot(term, term);
    for (const earlier of basis) subtractProjection(term, earlier);
    const remaining = dot(term, term);
    if (!(remaining > original * 1e-12)) continue;
    const length = Math.sqrt(remaining);
    for (let index = 0; index < count; index += 1) term[index] = (term[index] as number) / length;
    basis.push(term);
    subtractProjection(residuals, term);
  }
  return { residuals, degreesOfFreedom: count - basis.length };
}

/**
 * Integrated autocorrelation 1 + 2 Σ ρ_k of pooled residuals, summed over pairs of lags for as long as a pair is
 * positive (initial positive sequence). Meant for blanks: for periodic signals a sum that stops at the first
 * zero is wrong. 1 when the residuals do not scatter at all.
 * @param residuals series with mean zero; pairs of readings are formed inside a series only.
 */
export function autocorrelationSum(residuals: readonly Float64Array[]): number {
  let longest = 0;
  let readings = 0;
  for (const series of residuals) {
    longest = Math.max(longest, series.length);
    readings += series.length;
  }
  const variance = meanProduct(residuals, 0);
  if (!(variance > 0)) return 1;
  let sum = -1;
  for (let lag = 0; lag + 1 <= Math.floor(longest / 3); lag += 2) {
    const pair = (meanProduct(residuals, lag) + meanProduct(residuals, lag + 1)) / variance;
    if (!(pair > 0)) break;
    sum += 2 * pair;
  }
  return Math.max(sum, 1 / readings);
}

/** Mean product of readings `lag` apart, over all series. */
function meanProduct(residuals: readonly Float64Array[], lag: number): number {
  let sum = 0;
  let pairs = 0;
  for (const series of residuals) {
    for (let index = lag; index < series.length; index += 1) {
      sum += (series[index] as number) * (series[index - lag] as number);
    }
    pairs += Math.max(series.length - lag, 0);
  }
  return pairs === 0 ? 0 : sum / pairs;
}

function dot(left: Float64Array, right: Float64Array): number {
  let sum = 0;
  for (let index = 0; index < left.length; index += 1) sum += (left[index] as number) * (right[index] as number);
  return sum;
}

/** Removes from `vector` its part along `unit`, a vector of length 1, in place. */
function subtractProjection(vector: Float64Array, unit: Float64Array): void {
  const share = dot(vector, unit);
  for (let index = 0; index < vector.length; index += 1) {
    vector[index] = (vector[index] as number) - share * (unit[index] as number);
  }
}
