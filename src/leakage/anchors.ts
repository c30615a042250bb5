import { valueBetween } from '../calibration/zero-span.ts';
import type { Anchor, AnchorMode } from '../calibration/zero-span.ts';
import { probeTime } from './alignment.ts';
import type { InterpolatedReading } from './assessment.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { doubt } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { lengthOfMean } from './lag.ts';

/** A zero or reference dwell as a value at the middle of its window. */
export interface DwellAnchor extends Anchor {
  readonly dwell: ReadDwell;
}

/** A value taken from anchors, its origin, its noise and the doubts that come with it. */
export interface AnchoredValue {
  readonly shown: InterpolatedReading;
  /** The moment it is for, and those of the anchors, on the axis of the anchors, µs. */
  readonly atMicroseconds: number;
  readonly beforeAtMicroseconds: number | null;
  readonly afterAtMicroseconds: number | null;
  readonly before: ReadDwell | null;
  readonly after: ReadDwell | null;
  readonly doubts: readonly Doubt[];
}

/** The zero drifts in the photometer: its axis is arrival time. */
export function zeroAnchors(zeros: readonly ReadDwell[]): DwellAnchor[] {
  return zeros.map((dwell) => ({ atMicroseconds: middle(dwell), value: dwell.mean.corrected, dwell }));
}

/** The challenge varies in the chamber: the axis of a reference is probe time, when its air left the chamber. */
export function referenceAnchors(context: ReadingContext, references: readonly ReadDwell[]): DwellAnchor[] {
  return references.map((dwell) => ({
    atMicroseconds: probeTime(middle(dwell), context.rig, dwell.port),
    value: dwell.mean.corrected,
    dwell,
  }));
}

/** Middle of what is used of a window, on arrival time, µs: of several pieces, each by its length. */
export function middle({ mean, pieces }: ReadDwell): number {
  if (pieces.length === 1) return (mean.fromMicroseconds + mean.toMicroseconds) / 2;
  let length = 0;
  let moment = 0;
  for (const piece of pieces) {
    const weight = lengthOfMean(piece.mean);
    length += weight;
    moment += (weight * (piece.mean.fromMicroseconds + piece.mean.toMicroseconds)) / 2;
  }
  return moment / length;
}

/** How much time a window's mean stands for, µs: what is left out between its pieces takes no part. */
export function lengthOfWindow({ pieces }: ReadDwell): number {
  let length = 0;
  for (const { mean } of pieces) length += mean.toMicroseconds - mean.fromMicroseconds;
  return length;
}

/**
 * The anchored value for a window. Doubts: `unbracketed` when one side is missing, `gap` when the interpolation
 * crosses time segments, and whatever the dwells behind it carry.
 * @returns null when there are no anchors.
 */
export function anchoredValue(
  anchors: readonly DwellAnchor[],
  atMicroseconds: number,
  segment: number,
  mode: AnchorMode,
): AnchoredValue | null {
  const between = valueBetween(anchors, atMicroseconds, mode);
  if (between === null) return null;
  const before = between.before?.dwell ?? null;
  const after = between.after?.dwell ?? null;
  const doubts: Doubt[] = [];
  if (!between.bracketed) {
    const side = before === null ? 'after' : 'before';
    doubts.push(doubt('unbracketed', (before ?? after)?.recorded.dwell.dwell ?? null, `there is only one ${side}`));
  }
  for (const dwell of [before, after]) {
    if (dwell === null) continue;
    if (dwell.segment !== segment) {
      doubts.push(doubt('gap', dwell.recorded.dwell.dwell, 'a break in time lies between this dwell and the window'));
    }
    doubts.push(...dwell.doubts);
  }
  const shown: InterpolatedReading = {
    value: between.value,
    beforeDwell: before?.recorded.dwell.dwell ?? null,
    afterDwell: after?.recorded.dwell.dwell ?? null,
    weightAfter: between.weightAfter,
  };
  return {
    shown,
    atMicroseconds,
    beforeAtMicroseconds: between.before?.atMicroseconds ?? null,
    afterAtMicroseconds: between.after?.atMicroseconds ?? null,
    before,
    after,
    doubts,
  };
}

/** Combines a quantity of the two dwells behind a value with the weights of the value. */
export function weighted(
  value: AnchoredValue,
  quantity: (dwell: ReadDwell) => number,
): { readonly before: number; readonly after: number } {
  return {
    before: value.before === null ? 0 : (1 - value.shown.weightAfter) * quantity(value.before),
    after: value.after === null ? 0 : value.shown.weightAfter * quantity(value.after),
  };
}
