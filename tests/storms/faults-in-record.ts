import { toMicroseconds } from '../../src/model/time.ts';
import type { TrialEvent, TrialEventOf } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import type { TimedFault } from './draw-storm.ts';

/** When something was wrong, trial time, µs. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** The door stands open for a while, and a step of zero or span is there for good once the next zero has seen it. */
const momentSeconds = 10;

export function stretchOf({ atSeconds, fault }: TimedFault): Stretch {
  const seconds = fault.fault === 'wire' ? fault.wire.seconds : 'seconds' in fault ? fault.seconds : momentSeconds;
  return { from: toMicroseconds(atSeconds), to: toMicroseconds(atSeconds + seconds) };
}

export const overlap = (one: Stretch, other: Stretch): boolean => one.from < other.to && other.from < one.to;

/** The instrument that a fault happens to; null for what happens to the air or the subject. */
function instrumentOf({ fault }: TimedFault): string | null {
  switch (fault.fault) {
    case 'wire':
    case 'unplug':
      return fault.instrument;
    case 'contact-lost':
      return 'belt';
    case 'subject-stop':
    case 'contact':
      return 'contacts';
    case 'valve':
      return 'selector';
    default:
      return null;
  }
}

/** Does it happen to photometer, valve or lines? */
export function isOfMeasuring({ fault }: TimedFault): boolean {
  if (fault.fault === 'wire' || fault.fault === 'unplug') return ['photometer', 'selector'].includes(fault.instrument);
  return ['valve', 'line-blocked', 'zero-jump', 'span-jump'].includes(fault.fault);
}

/**
 * How long a fault of an instrument's wire has to last before it must be seen, s. Silence: its limit and one second
 * more; spoiled lines: two of them for certain. The valve speaks only when it is asked.
 */
const silenceSeen: Readonly<Record<string, number>> = { photometer: 3, belt: 7, contacts: 3 };
const spoiledSeen: Readonly<Record<string, number>> = { photometer: 0.5, belt: 4, contacts: 3 };

/** A line that stands still or comes with the next shows in the numbers; no dialect of the short rig has checksums. */
const quietFaults: readonly string[] = ['frozen', 'merged', 'wrong-checksum'];

/** What must be found in a record, in words, when a fault is to count as seen; null where nothing needs to be. */
export function missedFault(record: TrialRecord, timed: TimedFault, all: readonly TimedFault[]): string | null {
  const { fault } = timed;
  const stretch = stretchOf(timed);
  const instrument = instrumentOf(timed);
  const ends = endOf(record);
  // What begins when the subject is out already, or is hidden by another fault of the same instrument, shows nothing.
  const lasts = { from: stretch.from, to: Math.min(stretch.to, ends) };
  if (lasts.to - lasts.from < 100_000) return null;
  const hidden = all.some(
    (other) => other !== timed && instrument !== null && instrumentOf(other) === instrument && hides(other, lasts),
  );
  if (hidden || instrument === null) return null;
  const seconds = (lasts.to - lasts.from) / 1e6;
  // The valve has three seconds to answer what it was asked just before the end of its fault.
  const seen = { from: lasts.from, to: lasts.to + (instrument === 'selector' ? 5_000_000 : 2_000_000) };
  const missed = (what: string): string | null =>
    record.events.some((event) => tellsOf(event, instrument, seen)) || standsAt(record, instrument, lasts.from)
      ? null
      : `${what} of ${instrument} at ${timed.atSeconds} s for ${seconds.toFixed(1)} s is nowhere in the record`;
  switch (fault.fault) {
    case 'unplug':
      return missed('the pulled cable');
    case 'wire': {
      const limits = fault.wire.fault === 'silence' ? silenceSeen : spoiledSeen;
      if (quietFaults.includes(fault.wire.fault)) return null;
      return seconds > (limits[instrument] ?? Number.POSITIVE_INFINITY) ? missed(`the ${fault.wire.fault}`) : null;
    }
    case 'contact-lost':
      return seconds > silenceSeen['belt']! ? missed('the lost contact') : null;
    case 'valve': {
      if (fault.behaviour === 'late') return null;
      const asked = record.events.some(
        ({ atMicroseconds: at, kind }) => kind === 'port-requested' && at > lasts.from && at < lasts.to,
      );
      return asked && stretch.to < ends ? missed(`the port that was ${fault.behaviour} reached`) : null;
    }
    case 'subject-stop': {
      const pressed = record.events.some(
        (event) =>
          event.kind === 'operator-action' &&
          event.person === 'subject' &&
          event.atMicroseconds >= lasts.from &&
          event.atMicroseconds <= seen.to,
      );
      return pressed ? null : `the subject pressed at ${timed.atSeconds} s and the trial was not stopped`;
    }
    case 'contact':
      return fault.failure === 'wire-cut' && seconds > 1 ? missed('the cut wire') : null;
    default:
      return null;
  }
}

/** A fault takes some time to be over: a cable is found again, a retry waits. */
function hides(other: TimedFault, lasts: Stretch): boolean {
  const stretch = stretchOf(other);
  return overlap({ from: stretch.from, to: stretch.to + 6_000_000 }, lasts);
}

function tellsOf(event: TrialEvent, instrument: string, within: Stretch): boolean {
  if (event.atMicroseconds < within.from || event.atMicroseconds > within.to) return false;
  if (event.kind === 'problem') return event.problem.instrument === instrument;
  if (event.kind === 'alarm-raised') return event.instrument === instrument;
  return event.kind === 'port-unconfirmed' && instrument === 'selector';
}

/** An alarm of the instrument stands already. */
function standsAt(record: TrialRecord, instrument: string, at: number): boolean {
  const alarms = record.events.filter(
    (event): event is TrialEventOf<'alarm-raised'> | TrialEventOf<'alarm-cleared'> =>
      (event.kind === 'alarm-raised' || event.kind === 'alarm-cleared') &&
      event.instrument === instrument &&
      event.atMicroseconds <= at,
  );
  return alarms.at(-1)?.kind === 'alarm-raised';
}

/** When the trial was over, trial time, µs. */
function endOf(record: TrialRecord): number {
  const over = record.events.find(
    (event) => event.kind === 'phase-changed' && (event.to === 'stopped' || event.to === 'closed'),
  );
  return (over ?? record.events.at(-1))?.atMicroseconds ?? 0;
}
