import { randomBytes } from 'node:crypto';
import { ChambersideError } from '../../model/error-code.ts';
import { makeIdentifier, type Identifier, type IdentifierKind } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { UnfinishedTrial } from '../store/contract.ts';

/** Where the record of an interrupted trial ends. */
export interface RecordEnd {
  readonly segment: TimeSegment;
  /** From the beginning of that segment to the end of the record, µs. */
  readonly sinceSegmentMicroseconds: number;
}

/** @throws ChambersideError `file-damaged` when the trial has no time segment. */
export function recordEnd(unfinished: Pick<UnfinishedTrial, 'trial' | 'segments' | 'throughMicroseconds'>): RecordEnd {
  const segment = unfinished.segments.at(-1);
  if (segment === undefined) {
    throw new ChambersideError('file-damaged', 'the trial has no time segment', unfinished.trial, 'Verify the study.');
  }
  return { segment, sinceSegmentMicroseconds: unfinished.throughMicroseconds - segment.beginsAtMicroseconds };
}

/** How long ago the record ended by the wall clock, µs; 0 when that has been set back behind it. */
export function wallGapMicroseconds(end: RecordEnd, nowMilliseconds: number): number {
  const sinceAnchor = (nowMilliseconds - Date.parse(end.segment.wallAnchor)) * 1000;
  return Math.max(0, Math.round(sinceAnchor - end.sinceSegmentMicroseconds));
}

/** Whether the subject is in the chamber, by the last cue about it. */
export function subjectInside(events: readonly TrialEvent[]): boolean {
  const last = events.findLast((event) => event.kind === 'cue' && (event.cue === 'enter' || event.cue === 'leave'));
  return last?.kind === 'cue' && last.cue === 'enter';
}

/** The truth of a trial lies beside its study, in a file of its own. */
export function truthPathOf(studyPath: string, trial: Identifier): string {
  return `${studyPath.replace(/\.chamberside$/, '')}.${trial}.truth`;
}

/** An identifier from the machine's random source. */
export function newIdentifier(kind: IdentifierKind): Identifier {
  return makeIdentifier(kind, randomBytes(12));
}
