import { median } from '../statistics/median.ts';
import { smoothingFilter } from '../statistics/smoothing-filter.ts';

/**
 * Bursts of inward leakage: peaks of a trace, the trace over the phase of a movement or a breath, and the photometer's
 * lag undone. All on probe time, all of evenly spaced readings.
 */

/** A peak that stands out. Heights in the unit of the trace. */
export interface Peak {
  readonly atSeconds: number;
  readonly value: number;
  /** Height above the higher of the two lowest places that part it from something higher. */
  readonly prominence: number;
  /** At half the prominence; null where the trace ends before. */
  readonly widthSeconds: number | null;
}

/** 1.4826 times the median absolute deviation: the standard deviation of normal values, deaf to bursts. */
export function robustDeviation(values: Float64Array): number {
  if (values.length === 0) throw new RangeError('no values have no deviation');
  const middle = median(values);
  return 1.4826 * median(values.map((value) => Math.abs(value - middle)));
}

/**
 * Peaks with a prominence of at least so many robust deviations, in order of time. A plateau counts at its middle.
 * @param seconds ascending, @param values one for each, at least three, finite.
 * @param deviations default 6. The highest peak of mere white noise stands out by nearly its whole range, some 6
 * deviations in a few hundred readings: ask for more, or smooth first, where the noise is not small.
 * @throws RangeError otherwise.
 */
export function findPeaks(seconds: Float64Array, values: Float64Array, deviations = 6): Peak[] {
  requireTrace(seconds, values);
  const least = deviations * robustDeviation(values);
  const peaks: Peak[] = [];
  for (let index = 1; index < values.length - 1; index += 1) {
    const value = values[index] as number;
    if (!(value > (values[index - 1] as number))) continue;
    let end = index;
    while (end + 1 < values.length && values[end + 1] === value) end += 1;
    if (end + 1 === values.length || (values[end + 1] as number) > value) continue;
    const prominence = value - Math.max(lowestTowards(values, index, -1), lowestTowards(values, end, 1));
    if (prominence > 0 && prominence >= least) {
      const at = ((seconds[index] as number) + (seconds[end] as number)) / 2;
      peaks.push({ atSeconds: at, value, prominence, widthSeconds: widthAt(seconds, values, index, end, prominence) });
    }
    index = end;
  }
  return peaks;
}

/** Lowest value before something higher comes, or the trace ends. */
function lowestTowards(values: Float64Array, from: number, step: 1 | -1): number {
  const top = values[from] as number;
  let lowest = top;
  for (let index = from + step; index >= 0 && index < values.length; index += step) {
    const value = values[index] as number;
    if (value > top) break;
    lowest = Math.min(lowest, value);
  }
  return lowest;
}

function widthAt(
  seconds: Float64Array,
  values: Float64Array,
  first: number,
  last: number,
  prominence: number,
): number | null {
  const level = (values[first] as number) - prominence / 2;
  const crossing = (from: number, step: 1 | -1): number | null => {
    for (let index = from + step; index >= 0 && index < values.length; index += step) {
      const here = values[index] as number;
      if (here > level) continue;
      const before = values[index - step] as number;
      const [at = 0, atBefore = 0] = [seconds[index], seconds[index - step]];
      return at + ((atBefore - at) * (level - here)) / (before - here);
    }
    return null;
  };
  const left = crossing(first, -1);
  const right = crossing(last, 1);
  return left === null || right === null ? null : right - left;
}

/** A trace over one period of a movement. */
export interface PhaseAverage {
  /** Mean of each bin of the phase, the first one beginning at the origin; null for a bin without a reading. */
  readonly bins: readonly (number | null)[];
  readonly mean: number;
  /**
   * Amplitude of the first harmonic, and its place in the period, 0 to 1. Highest minus lowest bin is biased upward by
   * noise; this is hardly.
   */
  readonly amplitude: number;
  readonly peakPhase: number;
  /** Share of a first harmonic that a photometer of this time constant shows: 1/√(1 + (2π f τ)²). */
  readonly resolution: number;
  readonly periods: number;
}

/**
 * Average over the phase of a movement or a breath. The first harmonic is the least-squares one, so that a broken
 * number of periods does no harm.
 * @param periodSeconds, originSeconds of the movement, on the same (probe) time as the trace.
 * @throws RangeError for a period that is not positive, fewer than two periods of trace, or fewer than four readings in
 * a period.
 */
export function phaseAverage(
  seconds: Float64Array,
  values: Float64Array,
  periodSeconds: number,
  originSeconds: number,
  timeConstantSeconds: number,
  binCount = 12,
): PhaseAverage {
  requireTrace(seconds, values);
  if (!(periodSeconds > 0)) throw new RangeError('the period must be greater than zero');
  if (!(timeConstantSeconds >= 0)) throw new RangeError('the time constant must not be negative');
  const length = (seconds[seconds.length - 1] as number) - (seconds[0] as number);
  const periods = length / periodSeconds;
  if (periods < 2) throw new RangeError(`a phase average needs two periods: the trace holds ${periods.toFixed(2)}`);
  if (values.length / periods < 4) throw new RangeError('a phase average needs four readings in a period');
  const sums = new Float64Array(binCount);
  const counts = new Float64Array(binCount);
  const design: [number, number, number][] = [];
  seconds.forEach((second, index) => {
    const turns = (second - originSeconds) / periodSeconds;
    const phase = turns - Math.floor(turns);
    const bin = Math.min(binCount - 1, Math.floor(phase * binCount));
    sums[bin] = (sums[bin] as number) + (values[index] as number);
    counts[bin] = (counts[bin] as number) + 1;
    design.push([1, Math.cos(2 * Math.PI * phase), Math.sin(2 * Math.PI * phase)]);
  });
  const [mean, cosine, sine] = threeTerms(design, values);
  const turn = Math.atan2(sine, cosine) / (2 * Math.PI);
  return {
    bins: Array.from(sums, (sum, bin) => (counts[bin] === 0 ? null : sum / (counts[bin] as number))),
    mean,
    amplitude: Math.hypot(cosine, sine),
    peakPhase: turn < 0 ? turn + 1 : turn,
    resolution: 1 / Math.hypot(1, (2 * Math.PI * timeConstantSeconds) / periodSeconds),
    periods,
  };
}

/** Least squares in three columns: the normal equations, which are nearly diagonal here. */
function threeTerms(design: readonly [number, number, number][], values: Float64Array): [number, number, number] {
  const at = (row: number, column: number): number =>
    design.reduce((sum, line) => sum + (line[row] as number) * (line[column] as number), 0);
  const right = (row: number): number =>
    design.reduce((sum, line, index) => sum + (line[row] as number) * (values[index] as number), 0);
  const determinant = (a: readonly number[]): number => {
    const [x = 0, y = 0, z = 0, p = 0, q = 0, r = 0, u = 0, v = 0, w = 0] = a;
    return x * (q * w - r * v) - y * (p * w - r * u) + z * (p * v - q * u);
  };
  const columns = [0, 1, 2].map((column) => [at(0, column), at(1, column), at(2, column)]);
  const result = [right(0), right(1), right(2)];
  const flat = (replaced: number): number[] =>
    [0, 1, 2].flatMap((row) => columns.map((column, index) => (index === replaced ? result[row] : column[row]) ?? 0));
  const whole = determinant(flat(-1));
  return [determinant(flat(0)) / whole, determinant(flat(1)) / whole, determinant(flat(2)) / whole];
}

/** A trace with the photometer's lag undone, and what that costs. */
export interface LagInverse {
  /** As many as the trace; NaN at both ends, where the window does not fit. */
  readonly values: Float64Array;
  /** Standard deviation of a value for one of white reading noise. */
  readonly noiseGain: number;
  /** Shown amplitude over true amplitude of a movement of this frequency, photometer and filter together. */
  readonly gainAt: (hertz: number) => number;
}

/**
 * c + τ dc/dt with value and slope from a smoothing filter: the first-order inverse for transients. Means use the
 * integrated form instead, which costs little noise. Its maximum is biased upward by noise: never report one without
 * `tellsSingleBursts`.
 * @param intervalSeconds between readings. @throws RangeError unless it and the time constant are positive.
 */
export function undoLag(
  values: Float64Array,
  intervalSeconds: number,
  timeConstantSeconds: number,
  halfWidth = 7,
  degree = 4,
): LagInverse {
  if (!(intervalSeconds > 0)) throw new RangeError('the interval must be greater than zero');
  if (!(timeConstantSeconds > 0)) throw new RangeError('the time constant must be greater than zero');
  const filter = smoothingFilter(halfWidth, degree);
  const weights = filter.value.map(
    (weight, index) => weight + (timeConstantSeconds / intervalSeconds) * (filter.slope[index] as number),
  );
  const undone = new Float64Array(values.length).fill(Number.NaN);
  for (let index = halfWidth; index < values.length - halfWidth; index += 1) {
    undone[index] = weights.reduce((sum, weight, k) => sum + weight * (values[index - halfWidth + k] as number), 0);
  }
  return {
    values: undone,
    noiseGain: Math.hypot(...weights),
    gainAt: (hertz) => {
      const turn = 2 * Math.PI * hertz * intervalSeconds;
      const real = weights.reduce((sum, weight, k) => sum + weight * Math.cos(turn * (k - halfWidth)), 0);
      const imaginary = weights.reduce((sum, weight, k) => sum + weight * Math.sin(turn * (k - halfWidth)), 0);
      return Math.hypot(real, imaginary) / Math.hypot(1, 2 * Math.PI * hertz * timeConstantSeconds);
    },
  };
}

/** May the height of single bursts be stated? Only above ten times the noise that the inverse makes. */
export function tellsSingleBursts(height: number, noiseGain: number, readingNoise: number): boolean {
  return height > 10 * noiseGain * readingNoise;
}

function requireTrace(seconds: Float64Array, values: Float64Array): void {
  if (seconds.length !== values.length || values.length < 3) throw new RangeError('a trace needs three readings');
  if (!values.every(Number.isFinite)) throw new RangeError('every reading must be a finite number');
  for (let index = 1; index < seconds.length; index += 1) {
    if (!((seconds[index] as number) > (seconds[index - 1] as number))) throw new RangeError('the times must ascend');
  }
}
