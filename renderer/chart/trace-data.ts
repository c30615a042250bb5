import type { TrialResult } from '../../src/bridge/result.ts';
import { probePorts } from '../../src/model/rig.ts';

const second = 1_000_000;

/** Seconds of the trial, what was read, and for each probe what of it lies inside a window; null is a hole. */
export interface TraceData {
  readonly seconds: number[];
  readonly readings: (number | null)[];
  /** In the order of `probes`. */
  readonly inWindows: (number | null)[][];
  readonly probes: readonly string[];
  /** Lowest and highest reading that has a place on a log axis; null when there is none. */
  readonly span: readonly [low: number, high: number] | null;
}

/**
 * Readings of a trial as lines: with a hole at every gap, since no line goes through what nobody saw, and with
 * nothing at or below zero, which has no place on a log axis.
 * @param times trial time, µs, ascending; `values` as many, in the stream's unit
 */
export function traceData(result: TrialResult, times: Float64Array, values: Float64Array): TraceData {
  const probes = probePorts(result.rig).map(({ probe }) => probe);
  const windows = (result.assessment?.cells ?? [])
    .flatMap(({ probe, windows: own }) => own.map((window) => ({ probe, ...window })))
    .sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
  const gaps = [...result.gaps].sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
  const seconds: number[] = [];
  const readings: (number | null)[] = [];
  const inWindows: (number | null)[][] = probes.map(() => []);
  let low = Number.POSITIVE_INFINITY;
  let high = 0;
  let nextWindow = 0;
  let nextGap = 0;
  const put = (at: number, value: number | null, probe: string | null): void => {
    seconds.push(at / second);
    readings.push(value);
    probes.forEach((one, index) => inWindows[index]?.push(one === probe ? value : null));
  };
  for (let index = 0; index < times.length; index += 1) {
    const at = times[index] ?? 0;
    const gap = gaps[nextGap];
    if (gap !== undefined && at > gap.fromMicroseconds) {
      // Between the readings around it, wherever they are: strictly ascending is what the chart wants.
      const before = times[index - 1];
      if (before !== undefined) put((before + at) / 2, null, null);
      while ((gaps[nextGap]?.fromMicroseconds ?? Number.POSITIVE_INFINITY) < at) nextGap += 1;
    }
    while ((windows[nextWindow]?.toMicroseconds ?? Number.POSITIVE_INFINITY) < at) nextWindow += 1;
    const window = windows[nextWindow];
    const probe = window !== undefined && window.fromMicroseconds <= at ? window.probe : null;
    const value = values[index] ?? Number.NaN;
    const shown = value > 0 ? value : null;
    if (shown !== null) {
      low = Math.min(low, shown);
      high = Math.max(high, shown);
    }
    put(at, shown, probe);
  }
  return { seconds, readings, inWindows, probes, span: high > 0 ? [low, high] : null };
}

/** Whole decades around a span, at most six of them: below that a photometer reads its own noise. */
export function decadesAround(span: readonly [number, number] | null): [low: number, high: number] {
  if (span === null) return [0.001, 1];
  const top = 10 ** Math.ceil(Math.log10(span[1]));
  const bottom = 10 ** Math.floor(Math.log10(span[0]));
  return [Math.max(bottom, top / 1e6), top === bottom ? top * 10 : top];
}
