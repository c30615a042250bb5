import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { toSeconds } from '../model/time.ts';
import { middle } from './anchors.ts';
import { stillSettling } from './carry-over.ts';
import { doubt } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { meanOf, noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { fewestWindowReadings, meanOfMeans } from './lag.ts';
import type { WindowMean } from './lag.ts';
import { readingsIn } from './left-out.ts';
import type { Span } from './readings.ts';

/**
 * Marks every zero whose second half still falls away from the port before it, by more than its noise and the
 * drift between its neighbours explain, as `zero-not-settled`.
 */
export function markTails(
  context: ReadingContext,
  zeros: readonly ReadDwell[],
  blank: BlankScatter | null,
): ReadDwell[] {
  return zeros.map((zero, index) =>
    blank !== null && hasTail(context, zero, driftPerSecond(zeros, index), blank)
      ? { ...zero, doubts: [...zero.doubts, tailDoubt(zero)] }
      : zero,
  );
}

function tailDoubt({ recorded }: ReadDwell): Doubt {
  return doubt('zero-not-settled', recorded.dwell.dwell, 'its second half still falls from the port before it');
}

function hasTail(context: ReadingContext, zero: ReadDwell, drift: number, blank: BlankScatter): boolean {
  const halves = halvesOfZero(context, zero, blank);
  if (zero.step === null || halves === null) return false;
  const { early, late, noise, seconds } = halves;
  return stillSettling(early, late, drift * seconds, noise, zero.step);
}

/** A zero in two: corrected means and the noise of their difference, unit of the readings; the time between them, s. */
export interface ZeroHalves {
  readonly early: number;
  readonly late: number;
  readonly noise: number;
  readonly seconds: number;
}

/** Null where a zero has too few readings for two means. */
export function halvesOfZero(context: ReadingContext, zero: ReadDwell, blank: BlankScatter): ZeroHalves | null {
  const halves = halvesOf(zero.pieces);
  if (halves === null) return null;
  const [early, late] = halves.map((half) => meanOfMeans(half.map((piece) => meanOf(context, piece)))) as [
    WindowMean,
    WindowMean,
  ];
  return {
    early: early.corrected,
    late: late.corrected,
    noise: noiseOf(blank, context.readings.resolution, early.squaredWeights + late.squaredWeights),
    seconds: toSeconds(
      (late.fromMicroseconds + late.toMicroseconds - early.fromMicroseconds - early.toMicroseconds) / 2,
    ),
  };
}

/**
 * First and second half of the readings that are used; null where they are too few. A half that ends inside a piece
 * gives up a rest that is too short for a mean of its own.
 */
function halvesOf(pieces: readonly Span[]): readonly [readonly Span[], readonly Span[]] | null {
  const half = Math.floor(readingsIn(pieces) / 2);
  const early: Span[] = [];
  const late: Span[] = [];
  let before = 0;
  for (const { end, first } of pieces) {
    const count = end - first;
    const ofEarly = { first, end: first + Math.min(count, Math.max(0, half - before)) };
    const ofLate = { first: end - Math.min(count, Math.max(0, before + count - (readingsIn(pieces) - half))), end };
    if (ofEarly.end - ofEarly.first >= fewestWindowReadings) early.push(ofEarly);
    if (ofLate.end - ofLate.first >= fewestWindowReadings) late.push(ofLate);
    before += count;
  }
  return early.length === 0 || late.length === 0 ? null : [early, late];
}

/** Slope from the zero before to the zero after, of the same time segment; 0 where a zero stands alone. */
function driftPerSecond(zeros: readonly ReadDwell[], index: number): number {
  const here = zeros[index];
  if (here === undefined) return 0;
  const neighbour = (at: number): ReadDwell => {
    const candidate = zeros[at];
    return candidate !== undefined && candidate.segment === here.segment ? candidate : here;
  };
  const before = neighbour(index - 1);
  const after = neighbour(index + 1);
  const seconds = toSeconds(middle(after) - middle(before));
  return seconds > 0 ? (after.mean.corrected - before.mean.corrected) / seconds : 0;
}
