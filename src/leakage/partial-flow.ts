import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { toMicroseconds, toSeconds } from '../model/time.ts';
import { noiseOfZeros } from './against-air.ts';
import type { AnchoredValue } from './anchors.ts';
import { carryOver } from './carry-over.ts';
import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { meanOf, noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import type { WindowMean } from './lag.ts';
import { arrivalsOf } from './left-out.ts';
import { longestSilence, within } from './readings.ts';
import { guardMicroseconds } from './window.ts';

/** Into how many slices a window is cut, in turn: long slices find what is low, short ones what is brief. */
const slicings = [3, 6, 12];
/** Two ends and something between them, each of several readings. */
const fewestSliceReadings = 8;
/** A slice begins every so many parts of one: wherever a blockage lies, some slice lies within it. */
const beginningsPerSlice = 4;
/** Movement and a leak that opens and closes are smoothed by the air inside; what is left of them stays above this. */
const shareOfHighest = 1 / 8;
/** So many detection limits of a slice the highest has to reach: a lower one is then told from it and from nothing. */
const limitsOfHighest = 4;
/** A longer silence, in expected intervals, spoils the slices before a window: the lag is corrected by their course. */
const longestSilenceIntervals = 3;

/**
 * Did a line flow in a part of its window only? The window is cut into slices of several lengths, each corrected for
 * the lag as the whole is: one that hardly reads anything beside one that clearly does is what a blockage looks like
 * that begins or ends in the window. Its mean then lies anywhere between nothing and the leakage, and can be told from
 * neither.
 *
 * Slices begin before the window, as far as the port's own air was read and nothing that counts is left of the port
 * before: a line that is freed as the window begins, or whose stale air then still has to pass, shows itself there.
 *
 * Not looked for at a probe in the breathing zone: there every breath out reads like a line without flow.
 * @returns null where all slices show flow, where none stands out of the noise, and where there are too few readings.
 */
export function doubtOfPartialFlow(
  context: ReadingContext,
  blank: BlankScatter,
  dwell: ReadDwell,
  zero: AnchoredValue,
): Doubt | null {
  if (dwell.port.breathingZone === true) return null;
  const slice = sliceReader(context, dwell, zero);
  const noiseOfZero = noiseOfZeros(context, blank, zero);
  const { first, end } = dwell.span;
  const isKept = keptRuns(context, dwell);
  let highest = -Infinity;
  for (const count of slicings) {
    const length = Math.max(Math.floor((end - first) / count), fewestSliceReadings);
    if (2 * length > end - first) break;
    const step = Math.max(1, Math.floor(length / beginningsPerSlice));
    if (count === slicings[0]) {
      for (let from = end - length; from >= first; from -= step) {
        if (!isKept(from, length)) continue;
        const { net, leftOver } = slice(from, length);
        // The port before is still in the first slices, and is no flow of this one.
        highest = Math.max(highest, net - leftOver);
      }
    }
    const earliest = earliestBeginning(context, dwell, length);
    let lowest = Infinity;
    let squaredWeights = 0;
    for (let from = end - length; from >= earliest; from -= step) {
      if (!isKept(from, length)) continue;
      const { net, leftOver, mean } = slice(from, length);
      lowest = Math.min(lowest, net + context.method.detectionFactor * leftOver);
      squaredWeights = Math.max(squaredWeights, mean.squaredWeights);
    }
    const noise = Math.hypot(noiseOf(blank, context.readings.resolution, squaredWeights), noiseOfZero);
    if (highest < limitsOfHighest * context.method.detectionFactor * noise) break;
    // The lowest of many is low by noise alone: it has to lie below the limit by as much as a slice usually scatters.
    const limit = shareOfHighest * highest - noise;
    if (!(lowest < limit)) continue;
    const seconds = ((length * context.readings.intervalMicroseconds) / 1e6).toFixed(1);
    return doubt(
      'no-flow',
      dwell.recorded.dwell.dwell,
      `the lowest slice of ${seconds} s in the window or just before it, minus zero, beside the highest`,
      figure(lowest, limit, 'reading'),
    );
  }
  return null;
}

/** Does a slice hold nothing that is left out? */
function keptRuns(context: ReadingContext, { port }: ReadDwell): (first: number, length: number) => boolean {
  const leftOut = arrivalsOf(context, port).map((interval) => within(context.readings, interval));
  return (first, length) => leftOut.every((span) => first + length <= span.first || span.end <= first);
}

interface Slice {
  readonly mean: WindowMean;
  /** Minus the zero at its middle. */
  readonly net: number;
  /** What the port before may have left in it, ≥ 0. */
  readonly leftOver: number;
}

/** Reads `length` readings from an index on. */
function sliceReader(
  context: ReadingContext,
  dwell: ReadDwell,
  zero: AnchoredValue,
): (first: number, length: number) => Slice {
  const drift = driftPerMicrosecond(zero);
  return (first, length) => {
    const mean = meanOf(context, { first, end: first + length });
    const at = (mean.fromMicroseconds + mean.toMicroseconds) / 2;
    const net = mean.corrected - (zero.shown.value + drift * (at - zero.atMicroseconds));
    return { mean, net, leftOver: Math.abs(leftOver(context, dwell, mean)) };
  };
}

/** Index of the first reading with which a slice may begin that tells of the air at the beginning of the window. */
function earliestBeginning(context: ReadingContext, { port, span, step, window }: ReadDwell, length: number): number {
  const { method, readings, rig } = context;
  // A time constant more, as a photometer is of the first order only about.
  const settling = guardMicroseconds(rig, method.guardDispersions) + toMicroseconds(rig.timeConstantSeconds.value);
  // What stood in a blocked line comes out of it when that is freed, for as long as the line takes.
  const stale = toMicroseconds(port.transitSeconds.value);
  const before = {
    fromMicroseconds: Math.max(
      window.arrivalMicroseconds + settling,
      window.fromMicroseconds - stale - length * readings.intervalMicroseconds,
    ),
    toMicroseconds: window.fromMicroseconds,
  };
  if (step === null || before.fromMicroseconds >= before.toMicroseconds) return span.first;
  const silent = longestSilence(readings, before) > longestSilenceIntervals * readings.intervalMicroseconds;
  return silent ? span.first : within(readings, before).first;
}

/** What the port before may have left in a slice. */
function leftOver({ method, rig }: ReadingContext, dwell: ReadDwell, mean: WindowMean): number {
  const seconds = toSeconds(mean.toMicroseconds - mean.fromMicroseconds);
  if (dwell.step === null || seconds <= 0) return 0;
  const settled = toSeconds(mean.fromMicroseconds - dwell.window.arrivalMicroseconds);
  const { commonDispersionSeconds, timeConstantSeconds } = rig;
  return carryOver(dwell.step, timeConstantSeconds, commonDispersionSeconds, settled, seconds, method.lagCorrection);
}

/** What the zero does between the two dwells around a window; 0 where there is one only. */
function driftPerMicrosecond({ before, after, beforeAtMicroseconds, afterAtMicroseconds }: AnchoredValue): number {
  if (before === null || after === null || beforeAtMicroseconds === null || afterAtMicroseconds === null) return 0;
  const between = afterAtMicroseconds - beforeAtMicroseconds;
  return between > 0 ? (after.mean.corrected - before.mean.corrected) / between : 0;
}
