import type { TimeSegment } from '../../model/time.ts';

/** What the computer's clock would have shown by the segment's anchor, ISO 8601 in UTC. */
export function wallTimeIn(segment: TimeSegment, atMicroseconds: number): string {
  const milliseconds = (atMicroseconds - segment.beginsAtMicroseconds) / 1000;
  return new Date(Date.parse(segment.wallAnchor) + milliseconds).toISOString();
}
