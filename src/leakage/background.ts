import type { Method } from '../model/method.ts';
import type { AnchoredValue, DwellAnchor } from './anchors.ts';
import { anchoredValue, middle } from './anchors.ts';
import type { ReadDwell } from './dwell-reading.ts';

/** A probe's background: what its air reads without a challenge. */
export interface Background {
  readonly dwell: ReadDwell;
  /** R − Z, as a reading. */
  readonly netReading: number;
  readonly zero: AnchoredValue;
}

/**
 * The last usable background dwell of a port, against the zeros around it. It stays in units of the reading and is
 * divided by the span of the later window, so it counts as the same concentration seen with the same sensitivity;
 * a sensitivity that has moved by x percent since then leaves x percent of the background.
 * @returns null when there is no dwell or no zero.
 */
export function backgroundOf(
  port: number,
  backgrounds: readonly ReadDwell[],
  zeros: readonly DwellAnchor[],
  method: Method,
): Background | null {
  const dwell = backgrounds.findLast((candidate) => candidate.port.port === port);
  if (dwell === undefined) return null;
  const zero = anchoredValue(zeros, middle(dwell), dwell.segment, method.interpolation);
  return zero === null ? null : { dwell, netReading: dwell.mean.corrected - zero.shown.value, zero };
}
