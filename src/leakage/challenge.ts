import type { Method } from '../model/method.ts';
import type { DwellAnchor } from './anchors.ts';
import { anchoredValue, middle } from './anchors.ts';
import type { ReadDwell } from './dwell-reading.ts';

/** Net value of a reference dwell: its corrected reading minus the zero at its middle; null without a zero. */
export function netReference(reference: ReadDwell, zeros: readonly DwellAnchor[], method: Method): number | null {
  const zero = anchoredValue(zeros, middle(reference), reference.segment, method.interpolation);
  return zero === null ? null : reference.mean.corrected - zero.shown.value;
}

/** |after − before| as percent of their mean; infinite when the mean is not above zero. */
export function changePercent(before: number, after: number): number {
  const mean = (before + after) / 2;
  return mean > 0 ? (100 * Math.abs(after - before)) / mean : Number.POSITIVE_INFINITY;
}

/** Two references held against each other, net of zero, as readings. */
export interface ReferenceChange {
  readonly beforeDwell: number;
  readonly afterDwell: number;
  readonly beforeNet: number;
  readonly afterNet: number;
  readonly changePercent: number;
  readonly limitPercent: number;
  readonly exceeded: boolean;
}

/** How far the references around a window differ; null where one of them, or its zero, is missing. */
export function challengeChange(
  before: ReadDwell | null,
  after: ReadDwell | null,
  zeros: readonly DwellAnchor[],
  method: Method,
): ReferenceChange | null {
  return change(before, after, zeros, method, method.challengeChangePercent);
}

/**
 * How far the span moved over the trial: first against last reference, net of zero. With the chamber as span source
 * this sees sensitivity and challenge together and cannot tell them apart.
 */
export function spanChange(
  references: readonly ReadDwell[],
  zeros: readonly DwellAnchor[],
  method: Method,
): ReferenceChange | null {
  return change(references[0] ?? null, references.at(-1) ?? null, zeros, method, method.spanChangePercent);
}

function change(
  before: ReadDwell | null,
  after: ReadDwell | null,
  zeros: readonly DwellAnchor[],
  method: Method,
  limitPercent: number,
): ReferenceChange | null {
  if (before === null || after === null) return null;
  const beforeNet = netReference(before, zeros, method);
  const afterNet = netReference(after, zeros, method);
  if (beforeNet === null || afterNet === null) return null;
  const percent = changePercent(beforeNet, afterNet);
  return {
    beforeDwell: before.recorded.dwell.dwell,
    afterDwell: after.recorded.dwell.dwell,
    beforeNet,
    afterNet,
    changePercent: percent,
    limitPercent,
    exceeded: percent > limitPercent,
  };
}
