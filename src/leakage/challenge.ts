import type { Method } from '../model/method.ts';
import type { DwellAnchor } from './anchors.ts';
import { anchoredValue } from './anchors.ts';
import type { ReadDwell } from './dwell-reading.ts';

/** Net value of a reference dwell: its corrected reading minus the zero at its middle; null without a zero. */
export function netReference(reference: ReadDwell, zeros: readonly DwellAnchor[], method: Method): number | null {
  const at = (reference.mean.fromMicroseconds + reference.mean.toMicroseconds) / 2;
  const zero = anchoredValue(zeros, at, reference.segment, method.interpolation);
  return zero === null ? null : reference.mean.corrected - zero.shown.value;
}

/** |after − before| as percent of their mean; infinite when the mean is not above zero. */
export function changePercent(before: number, after: number): number {
  const mean = (before + after) / 2;
  return mean > 0 ? (100 * Math.abs(after - before)) / mean : Number.POSITIVE_INFINITY;
}

/** Do the references around a window differ by more than the method allows? */
export function challengeUnstable(
  before: ReadDwell | null,
  after: ReadDwell | null,
  zeros: readonly DwellAnchor[],
  method: Method,
): boolean {
  return differ(before, after, zeros, method, method.challengeChangePercent);
}

/**
 * Did the span move over the trial by more than the method allows? First against last reference, net of zero.
 * With the chamber as span source this sees sensitivity and challenge together and cannot tell them apart.
 */
export function spanDrifted(references: readonly ReadDwell[], zeros: readonly DwellAnchor[], method: Method): boolean {
  return differ(references[0] ?? null, references.at(-1) ?? null, zeros, method, method.spanChangePercent);
}

function differ(
  before: ReadDwell | null,
  after: ReadDwell | null,
  zeros: readonly DwellAnchor[],
  method: Method,
  limitPercent: number,
): boolean {
  if (before === null || after === null) return false;
  const first = netReference(before, zeros, method);
  const last = netReference(after, zeros, method);
  return first !== null && last !== null && changePercent(first, last) > limitPercent;
}
