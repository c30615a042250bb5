import type { StreamRecord } from '../model/trial-record.ts';
import { toMicroseconds } from '../model/time.ts';
import type { Interval } from './window.ts';

/** A stream ready for windows: finite values only, in order of arrival. */
export interface Readings {
  readonly atMicroseconds: Float64Array;
  readonly values: Float64Array;
  /** Arrival of values that are not numbers; they take part in nothing. */
  readonly unusableAtMicroseconds: readonly number[];
  /** Time between readings when all is well, µs. */
  readonly intervalMicroseconds: number;
  /** Smallest step of the values, in the stream's unit. */
  readonly resolution: number;
}

/** A stretch of readings by index, half-open. */
export interface Span {
  readonly first: number;
  readonly end: number;
}

/** Prepares a stream. Where it does not say how often readings come, the median interval stands in. */
export function prepareReadings(stream: StreamRecord): Readings {
  const unusableAtMicroseconds: number[] = [];
  for (let index = 0; index < stream.values.length; index += 1) {
    if (!Number.isFinite(stream.values[index])) unusableAtMicroseconds.push(stream.atMicroseconds[index] as number);
  }
  const keep = (_: number, index: number): boolean => Number.isFinite(stream.values[index]);
  const intact = unusableAtMicroseconds.length === 0;
  const atMicroseconds = intact ? stream.atMicroseconds : stream.atMicroseconds.filter(keep);
  const values = intact ? stream.values : stream.values.filter(keep);
  const expected = stream.descriptor.expectedIntervalSeconds;
  return {
    atMicroseconds,
    values,
    unusableAtMicroseconds,
    intervalMicroseconds: expected === null ? medianInterval(atMicroseconds) : toMicroseconds(expected),
    resolution: stream.descriptor.resolution,
  };
}

/** The readings that arrived in [from, to). */
export function within(readings: Readings, interval: Interval): Span {
  const first = firstAtOrAfter(readings.atMicroseconds, interval.fromMicroseconds);
  const end = firstAtOrAfter(readings.atMicroseconds, interval.toMicroseconds);
  return { first, end: Math.max(first, end) };
}

/** Mean of the readings that arrived in [from, to); null when there are none. */
export function meanWithin(readings: Readings, interval: Interval): number | null {
  const span = within(readings, interval);
  if (span.end === span.first) return null;
  let sum = 0;
  for (let index = span.first; index < span.end; index += 1) sum += readings.values[index] as number;
  return sum / (span.end - span.first);
}

/** Longest time without a reading inside an interval, its two ends included; µs. */
export function longestSilence(readings: Readings, interval: Interval): number {
  const span = within(readings, interval);
  let longest = 0;
  let previous = interval.fromMicroseconds;
  for (let index = span.first; index < span.end; index += 1) {
    const at = readings.atMicroseconds[index] as number;
    longest = Math.max(longest, at - previous);
    previous = at;
  }
  return Math.max(longest, interval.toMicroseconds - previous);
}

/** The first value of spans that is not below a limit; null where there is none. */
export function firstReadingAbove(values: Float64Array, pieces: readonly Span[], limit: number): number | null {
  for (const { end, first } of pieces) {
    for (let index = first; index < end; index += 1) {
      const value = values[index] as number;
      if (value >= limit) return value;
    }
  }
  return null;
}

/** Standard deviation of the values of spans about their common mean. @param pieces at least two values. */
export function scatterOf(values: Float64Array, pieces: readonly Span[]): number {
  const origin = values[pieces[0]?.first ?? 0] as number;
  let count = 0;
  let sum = 0;
  let squares = 0;
  // Counted from the first reading, so that equal readings scatter by exactly nothing.
  for (const piece of pieces) {
    count += piece.end - piece.first;
    for (let index = piece.first; index < piece.end; index += 1) {
      const difference = (values[index] as number) - origin;
      sum += difference;
      squares += difference * difference;
    }
  }
  return Math.sqrt(Math.max(squares - (sum * sum) / count, 0) / (count - 1));
}

/** Index of the first element that is not less than `at`; the length when there is none. */
function firstAtOrAfter(ascending: Float64Array, at: number): number {
  let low = 0;
  let high = ascending.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((ascending[middle] as number) < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

function medianInterval(atMicroseconds: Float64Array): number {
  if (atMicroseconds.length < 2) return 0;
  const intervals = atMicroseconds.slice(1).map((at, index) => at - (atMicroseconds[index] as number));
  intervals.sort();
  return intervals[intervals.length >>> 1] as number;
}
