import { z } from 'zod';
import { identifierSchema } from './identity.ts';

/**
 * Trial time: whole microseconds of the trial clock. The trial clock is monotonic inside a segment and may be
 * virtual; it starts near zero at the first segment and never runs backwards across segments.
 */
export const microsecondsSchema = z.number().int().nonnegative().max(Number.MAX_SAFE_INTEGER);

export const microsecondsPerSecond = 1_000_000;

/** Seconds to whole microseconds, rounded half up. */
export function toMicroseconds(seconds: number): number {
  return Math.round(seconds * microsecondsPerSecond);
}

/** Microseconds to seconds. */
export function toSeconds(microseconds: number): number {
  return microseconds / microsecondsPerSecond;
}

/**
 * A stretch of a trial during which one monotonic clock ran without a break. A new one begins at start, restart
 * and wake. Inside a segment intervals never use wall time; between segments only wall time exists, so the gap's
 * length is doubtful and no window, fit or interpolation may cross it unflagged.
 */
export const timeSegmentSchema = z.object({
  segment: z.number().int().nonnegative(),
  bootId: identifierSchema,
  /** Why it began. */
  reason: z.enum(['start', 'restart', 'wake']),
  /** Trial time at which the segment begins, µs. */
  beginsAtMicroseconds: microsecondsSchema,
  /** Reading of the monotonic clock at that moment, µs (virtual in a rehearsal on a virtual clock). */
  monotonicOriginMicroseconds: microsecondsSchema,
  /** Wall clock at that moment, ISO 8601 in UTC. */
  wallAnchor: z.iso.datetime(),
});
export type TimeSegment = z.infer<typeof timeSegmentSchema>;

/** Index of the segment that holds a trial time; −1 before the first. Segments ascend by their beginning. */
export function segmentAt(segments: readonly TimeSegment[], atMicroseconds: number): number {
  let found = -1;
  for (const [index, segment] of segments.entries()) {
    if (segment.beginsAtMicroseconds <= atMicroseconds) found = index;
  }
  return found;
}
