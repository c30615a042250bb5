import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { toSeconds } from '../model/time.ts';
import { noiseOfZeros } from './against-air.ts';
import type { AnchoredValue } from './anchors.ts';
import { carryOver } from './carry-over.ts';
import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { meanOf, noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import type { WindowMean } from './lag.ts';

const mostSlices = 8;
/** Two ends and something between them, each of several readings. */
const fewestSliceReadings = 12;
/** Movement and a leak that opens and closes are smoothed by the air inside; what is left of them stays above this. */
const shareOfHighest = 1 / 8;
/** So many detection limits of a slice the highest has to reach: a lower one is then told from it and from nothing. */
const limitsOfHighest = 3;

/**
 * Did a line flow in a part of its window only? The window is cut into slices, each corrected for the lag as the whole
 * is: a slice that hardly reads anything beside one that clearly does is what a blockage looks like that begins or
 * ends in the window. Its mean then lies anywhere between nothing and the leakage, and can be told from neither.
 * @returns null where all slices show flow, where none stands out of the noise, and where there are too few readings.
 */
export function doubtOfPartialFlow(
  context: ReadingContext,
  blank: BlankScatter,
  dwell: ReadDwell,
  zero: AnchoredValue,
): Doubt | null {
  const { first, end } = dwell.span;
  const count = Math.min(mostSlices, Math.floor((end - first) / fewestSliceReadings));
  if (count < 2) return null;
  const drift = driftPerMicrosecond(zero);
  let lowest = Infinity;
  let highest = -Infinity;
  let squaredWeights = 0;
  for (let slice = 0; slice < count; slice += 1) {
    const mean = meanOf(context, {
      first: first + Math.floor((slice * (end - first)) / count),
      end: first + Math.floor(((slice + 1) * (end - first)) / count),
    });
    const at = (mean.fromMicroseconds + mean.toMicroseconds) / 2;
    const net = mean.corrected - (zero.shown.value + drift * (at - zero.atMicroseconds));
    lowest = Math.min(lowest, net);
    // The port before is still in the first slices, and is no flow of this one.
    if (net > highest) highest = Math.max(highest, net - Math.abs(leftOver(context, dwell, mean)));
    squaredWeights = Math.max(squaredWeights, mean.squaredWeights);
  }
  const noise = Math.hypot(
    noiseOf(blank, context.readings.resolution, squaredWeights),
    noiseOfZeros(context, blank, zero),
  );
  // The lowest of many is low by noise alone: it has to lie below the limit by as much as a slice usually scatters.
  const limit = shareOfHighest * highest - noise;
  if (highest < limitsOfHighest * context.method.detectionFactor * noise || !(lowest < limit)) return null;
  return doubt(
    'no-flow',
    dwell.recorded.dwell.dwell,
    `the lowest of ${count} slices of the window, minus zero, beside the highest`,
    figure(lowest, limit, 'reading'),
  );
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
