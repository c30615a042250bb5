import type { Signature } from '../model/signature.ts';
import { segmentAt } from '../model/time.ts';
import type { TimeSegment } from '../model/time.ts';
import type { TrialEvent } from '../model/trial-event.ts';
import type { Voiding } from '../model/voiding.ts';

/** One line of the audit trail: who did what with a trial, when and why. */
export interface AuditEntry {
  /** ISO 8601 in UTC, by the clock of the computer; in a trial by its segment's anchor and the trial clock. */
  readonly at: string;
  readonly trial: string;
  /** Where it stands in the study file. */
  readonly source: 'trial' | 'event' | 'seal' | 'assessment' | 'voiding' | 'signature';
  /** What was done, one word: `hold`, `before-answered`, `sealed`, `reviewed`. */
  readonly action: string;
  /** Codes; none: nobody, the program did it. */
  readonly persons: readonly string[];
  /** What exactly, in words; empty where the action says it. */
  readonly detail: string;
  /** Why, as it was given; empty where nobody was asked. */
  readonly reason: string;
}

/** What the audit trail takes of one trial. */
export interface AuditedTrial {
  readonly trial: string;
  readonly createdAt: string;
  readonly operator: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly virtual: boolean;
  readonly segments: readonly TimeSegment[];
  readonly events: readonly TrialEvent[];
  readonly sealedAt: string | null;
  readonly assessments: readonly {
    readonly assessment: string;
    readonly createdAt: string;
    readonly method: { readonly name: string; readonly version: number };
    readonly review?: { readonly person: string; readonly reason: string; readonly leftOut: readonly unknown[] };
  }[];
  readonly voidings: readonly Voiding[];
  readonly signatures: readonly Signature[];
}

/** Time of day in a segment of a trial, ISO 8601 in UTC. */
export type WallTimeIn = (segment: TimeSegment, atMicroseconds: number) => string;

/** All that people did, and what was sealed and assessed, of all trials in the order of time. */
export function auditTrail(trials: readonly AuditedTrial[], wallTimeIn: WallTimeIn): AuditEntry[] {
  const entries = trials.flatMap((trial) => entriesOf(trial, wallTimeIn));
  // Equal times keep the order in which they stand in the file: sorting is stable.
  return entries.sort((one, other) => (one.at < other.at ? -1 : one.at > other.at ? 1 : 0));
}

function entriesOf(audited: AuditedTrial, wallTimeIn: WallTimeIn): AuditEntry[] {
  const { assessments, createdAt, ensemble, operator, sealedAt, segments, signatures, subject } = audited;
  const { trial, virtual, voidings } = audited;
  const entry = (
    source: AuditEntry['source'],
    at: string,
    action: string,
    persons: readonly string[],
    detail = '',
    reason = '',
  ): AuditEntry => ({ at, trial, source, action, persons, detail, reason });
  const about = `subject ${subject}, ensemble ${ensemble}${virtual ? ', virtual' : ''}`;
  return [
    entry('trial', createdAt, 'prepared', [operator], about),
    ...audited.events.flatMap((event) => {
      const done = byPeople(event);
      if (done === null) return [];
      // Before its first segment a trial is being made.
      const segment = segments[segmentAt(segments, event.atMicroseconds)];
      const at = segment === undefined ? createdAt : wallTimeIn(segment, event.atMicroseconds);
      return [entry('event', at, done.action, done.persons, done.detail, done.reason)];
    }),
    ...(sealedAt === null ? [] : [entry('seal', sealedAt, 'sealed', [])]),
    ...assessments.map(({ assessment, createdAt: at, method, review }) => {
      const left = review === undefined ? '' : `, ${review.leftOut.length} stretches left out`;
      const detail = `${assessment}, ${method.name} version ${method.version}${left}`;
      return entry('assessment', at, 'computed', review === undefined ? [] : [review.person], detail, review?.reason);
    }),
    ...voidings.map(({ createdAt: at, decision, person, reason }) =>
      entry('voiding', at, decision === 'void' ? 'made-void' : 'void-taken-back', [person], '', reason),
    ),
    ...signatures.map(({ assessment, createdAt: at, key, person, reason, rehearsal, step }) => {
      const by = key === null ? '' : `, by the key ${key.fingerprint}`;
      const detail = `${assessment}${rehearsal ? ', a rehearsal' : ''}${by}`;
      return entry('signature', at, step === 'withdrawn' ? 'signature-taken-back' : step, [person], detail, reason);
    }),
  ];
}

/** Null for what no person did. */
function byPeople(event: TrialEvent): Pick<AuditEntry, 'action' | 'detail' | 'persons' | 'reason'> | null {
  switch (event.kind) {
    case 'operator-action': {
      const { action, note: reason, person, source } = event;
      const detail = source === undefined ? '' : `by the contact of ${source.instrument}`;
      return { action, persons: [person], detail, reason };
    }
    case 'before-answered':
    case 'after-answered': {
      const { answer, item, kind: action, note: reason, persons } = event;
      return { action, persons, detail: `${item}: ${answer}`, reason };
    }
    case 'rest-lengthened': {
      const { byMicroseconds, exercise, kind: action, note: reason, person } = event;
      return { action, persons: [person], detail: `before ${exercise}, by ${byMicroseconds / 1e6} s`, reason };
    }
    case 'alarm-acknowledged': {
      const { alarm, instrument, kind: action, person, reason } = event;
      return { action, persons: [person], detail: `${alarm}${instrument === null ? '' : ` of ${instrument}`}`, reason };
    }
    case 'valve-by-hand':
      return { action: event.kind, persons: [event.person], detail: `port ${event.port}`, reason: '' };
    case 'mark-noted':
      return { action: event.kind, persons: [event.person], detail: '', reason: event.note };
    default:
      return null;
  }
}
