import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { weighted } from './anchors.ts';
import type { AnchoredValue } from './anchors.ts';
import { noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import type { ReadingAgainstAir } from './flow.ts';

/** A dwell that was read, net of the zero at its middle, with what it takes to tell it from filtered air. */
export function dwellAgainstAir(
  context: ReadingContext,
  blank: BlankScatter,
  dwell: ReadDwell,
  zero: AnchoredValue,
): ReadingAgainstAir {
  const ofZeros = weighted(zero, ({ carryOver }) => Math.abs(carryOver));
  return {
    net: dwell.mean.corrected - zero.shown.value,
    windowNoise: noiseOfWindow(context, blank, dwell),
    zeroNoise: noiseOfZeros(context, blank, zero),
    carryOver: Math.abs(dwell.carryOver) + ofZeros.before + ofZeros.after,
  };
}

/** Standard uncertainty that blank scatter gives to the mean of a window, in the unit of the reading. */
export function noiseOfWindow(context: ReadingContext, blank: BlankScatter, { mean }: ReadDwell): number {
  return noiseOf(blank, context.readings.resolution, mean.squaredWeights);
}

/** The same of the zero between two windows of filtered air. */
export function noiseOfZeros(context: ReadingContext, blank: BlankScatter, zero: AnchoredValue): number {
  const { before, after } = weighted(zero, (dwell) => noiseOfWindow(context, blank, dwell));
  return Math.hypot(before, after);
}
