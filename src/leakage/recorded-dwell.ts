import type { Dwell, TrialEvent } from '../model/trial-event.ts';

/** A dwell as it really went, from the events of a trial. */
export interface RecordedDwell {
  readonly dwell: Dwell;
  readonly beganAtMicroseconds: number;
  /** The first request of its port: from then on the valve may have left the port before. */
  readonly requestedAtMicroseconds: number;
  /** Null when the valve never confirmed the port. */
  readonly acknowledgedAtMicroseconds: number | null;
  /** Port that the valve confirmed. */
  readonly acknowledgedPort: number | null;
  /** Null when the record ends inside the dwell. */
  readonly endedAtMicroseconds: number | null;
  /** When the valve was released: the end, or for a dwell without one the beginning of the next; null: neither. */
  readonly releasedAtMicroseconds: number | null;
  readonly complete: boolean;
  /** `confirmed`: the last word of the valve about this dwell is its own port. */
  readonly port: 'confirmed' | 'unconfirmed' | 'wrong';
}

/** All dwells of a trial in the order in which they began. Events of unknown dwells are ignored. */
export function recordedDwells(events: readonly TrialEvent[]): RecordedDwell[] {
  const dwells = new Map<number, { -readonly [Field in keyof RecordedDwell]: RecordedDwell[Field] }>();
  const requested = new Set<number>();
  let latest: number | null = null;
  for (const event of events) {
    if (event.kind === 'dwell-began') {
      const before = latest === null ? undefined : dwells.get(latest);
      if (before !== undefined) before.releasedAtMicroseconds ??= event.atMicroseconds;
      dwells.set(event.dwell.dwell, {
        dwell: event.dwell,
        beganAtMicroseconds: event.atMicroseconds,
        requestedAtMicroseconds: event.atMicroseconds,
        acknowledgedAtMicroseconds: null,
        acknowledgedPort: null,
        endedAtMicroseconds: null,
        releasedAtMicroseconds: null,
        complete: false,
        port: 'unconfirmed',
      });
      latest = event.dwell.dwell;
    } else if (event.kind === 'port-requested') {
      const dwell = dwells.get(event.dwell);
      if (dwell === undefined || requested.has(event.dwell)) continue;
      requested.add(event.dwell);
      dwell.requestedAtMicroseconds = event.atMicroseconds;
    } else if (event.kind === 'port-acknowledged') {
      const dwell = dwells.get(event.dwell);
      if (dwell === undefined) continue;
      dwell.acknowledgedAtMicroseconds = event.atMicroseconds;
      dwell.acknowledgedPort = event.port;
      dwell.port = event.port === dwell.dwell.port ? 'confirmed' : 'wrong';
    } else if (event.kind === 'port-unconfirmed') {
      const dwell = dwells.get(event.dwell);
      if (dwell !== undefined) dwell.port = 'unconfirmed';
    } else if (event.kind === 'dwell-ended') {
      const dwell = dwells.get(event.dwell);
      if (dwell === undefined) continue;
      dwell.endedAtMicroseconds = event.atMicroseconds;
      dwell.releasedAtMicroseconds = event.atMicroseconds;
      dwell.complete = event.complete;
    }
  }
  return [...dwells.values()];
}
