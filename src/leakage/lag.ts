/** Mean of a window, with everything needed to recompute it and to carry noise through it. */
export interface WindowMean {
  /** Readings that took part. */
  readonly readings: number;
  /** Readings averaged at either end; 0 without lag correction. */
  readonly endReadings: number;
  /** mean(y), in the stream's unit. */
  readonly mean: number;
  /** tau · (y_end − y_start)/W; 0 without lag correction. */
  readonly lagTerm: number;
  /** y_start and y_end, the means of `endReadings` readings, in the stream's unit; null without lag correction. */
  readonly startMean: number | null;
  readonly endMean: number | null;
  /** W, from the centre of one end to that of the other, s; null without lag correction. */
  readonly lagSeconds: number | null;
  /** mean + lagTerm: the mean concentration at the photometer's inlet, as a reading. */
  readonly corrected: number;
  /** Σ w² of the weights with which readings enter `corrected`: independent noise of variance s² gives s² Σ w². */
  readonly squaredWeights: number;
  /** The stretch of arrival time that `corrected` is the mean of, µs. */
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
}

/** A window needs at least this many readings: two ends and something between them. */
export const fewestWindowReadings = 3;

/** Plain mean of readings `first` to `end` (exclusive). @throws RangeError for fewer than three. */
export function plainMean(atMicroseconds: Float64Array, values: Float64Array, first: number, end: number): WindowMean {
  const { readings, intervalMicroseconds } = measure(atMicroseconds, first, end);
  let sum = 0;
  for (let index = first; index < end; index += 1) sum += values[index] as number;
  const mean = sum / readings;
  return {
    readings,
    endReadings: 0,
    mean,
    lagTerm: 0,
    startMean: null,
    endMean: null,
    lagSeconds: null,
    corrected: mean,
    squaredWeights: 1 / readings,
    fromMicroseconds: Math.round((atMicroseconds[first] as number) - intervalMicroseconds / 2),
    toMicroseconds: Math.round((atMicroseconds[end - 1] as number) + intervalMicroseconds / 2),
  };
}

/**
 * Mean corrected for the photometer's first-order lag: the first-order equation tau·y′ + y = c, integrated,
 *
 *     mean(c) = mean(y) + tau · (y_end − y_start)/W.
 *
 * y_start and y_end are means of k readings at either end (k readings span `lagEndSeconds`), which stand for k
 * different beginnings and ends. So the identity is applied to each pair, readings s to s + N − k for
 * s = 0 … k − 1, by the trapezium rule, and averaged: W is (N − k) intervals, the distance between the centres of
 * the two ends, and mean(y) fades in and out over k readings. That keeps the identity exact for every course of c
 * and y, up to the trapezium rule (relative dt²/12 tau² of the decaying part). A mean over all N readings with
 * averaged ends would leave k·dt/(2 tau) of the carry-over: 15 % at tau 1 s and ends of 0.3 s.
 *
 * Weights go by index, not by stamp: readings are taken evenly, and only their arrival jitters.
 *
 * @param timeConstantSeconds tau, ≥ 0. @param lagEndSeconds > 0; shortened to half the window where needed.
 * @throws RangeError for fewer than three readings or a negative time constant.
 */
export function lagCorrectedMean(
  atMicroseconds: Float64Array,
  values: Float64Array,
  first: number,
  end: number,
  timeConstantSeconds: number,
  lagEndSeconds: number,
): WindowMean {
  if (!(timeConstantSeconds >= 0)) throw new RangeError('the time constant must not be negative');
  const { readings, intervalMicroseconds } = measure(atMicroseconds, first, end);
  const wanted = intervalMicroseconds > 0 ? Math.round((lagEndSeconds * 1e6) / intervalMicroseconds) : 1;
  const endReadings = Math.min(Math.max(wanted, 1), Math.floor(readings / 2));
  const steps = readings - endReadings;
  const windowSeconds = (steps * intervalMicroseconds) / 1e6;
  const lagWeight = windowSeconds > 0 ? timeConstantSeconds / (endReadings * windowSeconds) : 0;
  let mean = 0;
  let endDifference = 0;
  let startSum = 0;
  let endSum = 0;
  let squaredWeights = 0;
  // Between the ends every reading counts alike: nearly all of them do, and a trial has tens of thousands.
  const innerWeight = endReadings / (steps * endReadings);
  const innerSquare = innerWeight ** 2;
  for (let offset = 0; offset < readings; offset += 1) {
    const value = values[first + offset] as number;
    if (endReadings <= offset && offset < steps) {
      mean += innerWeight * value;
      squaredWeights += innerSquare;
      continue;
    }
    const meanWeight = trapeziums(offset, steps, endReadings) / (steps * endReadings);
    const side = offset < endReadings ? -1 : offset >= steps ? 1 : 0;
    mean += meanWeight * value;
    endDifference += side * value;
    if (side < 0) startSum += value;
    if (side > 0) endSum += value;
    squaredWeights += (meanWeight + side * lagWeight) ** 2;
  }
  const lagTerm = lagWeight * endDifference;
  const inset = ((endReadings - 1) / 2) * intervalMicroseconds;
  return {
    readings,
    endReadings,
    mean,
    lagTerm,
    startMean: startSum / endReadings,
    endMean: endSum / endReadings,
    lagSeconds: windowSeconds,
    corrected: mean + lagTerm,
    squaredWeights,
    fromMicroseconds: Math.round((atMicroseconds[first] as number) + inset),
    toMicroseconds: Math.round((atMicroseconds[end - 1] as number) - inset),
  };
}

/**
 * Mean over several stretches, each with the mean of its own readings: every stretch counts with its length, so the
 * result is the mean over the air of all of them, and what lies between takes no part. The lag term stays exact, since
 * the first-order equation holds in each stretch by itself: tau · Σ (y_end − y_start) / Σ W.
 * `startMean`, `endMean` and `lagSeconds` are plain means over the stretches, which gives the same quotient.
 * @param means at least one, in order of time; one alone is returned as it is.
 */
export function meanOfMeans(means: readonly WindowMean[]): WindowMean {
  const [first] = means;
  if (first === undefined) throw new RangeError('no stretches have no mean');
  const last = means.at(-1) ?? first;
  if (means.length === 1) return first;
  const length = sumOf(means, lengthOfMean);
  const weighted = (quantity: (mean: WindowMean) => number): number =>
    sumOf(means, (mean) => (lengthOfMean(mean) / length) * quantity(mean));
  const plain = (quantity: (mean: WindowMean) => number | null): number | null =>
    means.some((mean) => quantity(mean) === null) ? null : sumOf(means, (mean) => quantity(mean) ?? 0) / means.length;
  const mean = weighted((one) => one.mean);
  const lagTerm = weighted((one) => one.lagTerm);
  return {
    readings: sumOf(means, ({ readings }) => readings),
    endReadings: first.endReadings,
    mean,
    lagTerm,
    startMean: plain(({ startMean }) => startMean),
    endMean: plain(({ endMean }) => endMean),
    lagSeconds: plain(({ lagSeconds }) => lagSeconds),
    corrected: mean + lagTerm,
    squaredWeights: sumOf(means, (one) => (lengthOfMean(one) / length) ** 2 * one.squaredWeights),
    fromMicroseconds: first.fromMicroseconds,
    toMicroseconds: last.toMicroseconds,
  };
}

/** How long the stretch is that a mean stands for, s: what it counts with among others. */
export function lengthOfMean({ fromMicroseconds, lagSeconds, toMicroseconds }: WindowMean): number {
  return lagSeconds ?? (toMicroseconds - fromMicroseconds) / 1e6;
}

function sumOf<One>(all: readonly One[], quantity: (one: One) => number): number {
  let sum = 0;
  for (const one of all) sum += quantity(one);
  return sum;
}

/**
 * How often each reading of a window is counted in its mean, in halves: the mean is Σ (share · reading) / Σ share.
 * @param endReadings k of the window; 0 for a plain mean.
 */
export function readingShares(readings: number, endReadings: number): number[] {
  const steps = readings - endReadings;
  return Array.from({ length: readings }, (_, offset) =>
    endReadings === 0 ? 1 : 2 * trapeziums(offset, steps, endReadings),
  );
}

/** In how many of the k trapezium sums a reading takes part; the two ends of each sum count half. */
function trapeziums(offset: number, steps: number, endReadings: number): number {
  const lowest = Math.max(0, offset - steps);
  const highest = Math.min(endReadings - 1, offset);
  const whole = highest - lowest + 1;
  return whole - (offset - steps === lowest ? 0.5 : 0) - (offset === highest ? 0.5 : 0);
}

function measure(
  atMicroseconds: Float64Array,
  first: number,
  end: number,
): { readonly readings: number; readonly intervalMicroseconds: number } {
  const readings = end - first;
  if (readings < fewestWindowReadings) throw new RangeError(`a window needs at least ${fewestWindowReadings} readings`);
  const span = (atMicroseconds[end - 1] as number) - (atMicroseconds[first] as number);
  return { readings, intervalMicroseconds: span / (readings - 1) };
}
