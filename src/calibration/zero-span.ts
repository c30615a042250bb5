/** A value that belongs to one moment: a zero, a span, a reference. */
export interface Anchor {
  /** Trial time on whichever axis the caller uses for all of them, µs. */
  readonly atMicroseconds: number;
  readonly value: number;
}

/** A value between two anchors, with what is needed to recompute it by hand. */
export interface BetweenAnchors<A extends Anchor = Anchor> {
  readonly value: number;
  readonly before: A | null;
  readonly after: A | null;
  /** Share of the anchor after, 0 to 1; the anchor before has the rest. */
  readonly weightAfter: number;
  /** False when there is an anchor on one side only and its value was held: never silently. */
  readonly bracketed: boolean;
}

export type AnchorMode = 'linear' | 'before-and-after-mean';

/**
 * Concentration from a reading: C = (R − Z)/(S − Z) · C_ref. Common practice of photometry; negative values stay.
 * @param reading R, @param zero Z, @param span S: all in the same unit.
 * @param reference concentration that gave S; 100 gives percent of it.
 * @returns concentration in the unit of `reference`.
 * @throws RangeError when span and zero do not differ, or an input is not finite.
 */
export function concentration(reading: number, zero: number, span: number, reference: number): number {
  if (![reading, zero, span, reference].every(Number.isFinite)) {
    throw new RangeError('reading, zero, span and reference must be finite numbers');
  }
  if (span === zero) throw new RangeError('span and zero are equal: the photometer shows no sensitivity');
  return ((reading - zero) / (span - zero)) * reference;
}

/**
 * Straight line between two anchors. @throws RangeError outside of them: a value is never extrapolated.
 */
export function interpolate(before: Anchor, after: Anchor, atMicroseconds: number): number {
  if (!(before.atMicroseconds <= atMicroseconds && atMicroseconds <= after.atMicroseconds)) {
    throw new RangeError(`${atMicroseconds} µs does not lie between the two anchors`);
  }
  const weightAfter = weightBetween(before, after, atMicroseconds);
  return (1 - weightAfter) * before.value + weightAfter * after.value;
}

/**
 * The value at a moment from the nearest anchor before and after it. Where one side is missing, the other one's
 * value is held and `bracketed` is false; null when there are no anchors. Anchors need no order.
 */
export function valueBetween<A extends Anchor>(
  anchors: readonly A[],
  atMicroseconds: number,
  mode: AnchorMode,
): BetweenAnchors<A> | null {
  let before: A | null = null;
  let after: A | null = null;
  for (const anchor of anchors) {
    if (anchor.atMicroseconds <= atMicroseconds) {
      if (before === null || anchor.atMicroseconds >= before.atMicroseconds) before = anchor;
    } else if (after === null || anchor.atMicroseconds < after.atMicroseconds) {
      after = anchor;
    }
  }
  if (before !== null && after !== null) {
    const weightAfter = mode === 'linear' ? weightBetween(before, after, atMicroseconds) : 0.5;
    const value = (1 - weightAfter) * before.value + weightAfter * after.value;
    return { value, before, after, weightAfter, bracketed: true };
  }
  if (before !== null) return { value: before.value, before, after, weightAfter: 0, bracketed: false };
  if (after !== null) return { value: after.value, before, after, weightAfter: 1, bracketed: false };
  return null;
}

function weightBetween(before: Anchor, after: Anchor, atMicroseconds: number): number {
  const gap = after.atMicroseconds - before.atMicroseconds;
  return gap === 0 ? 0 : (atMicroseconds - before.atMicroseconds) / gap;
}
