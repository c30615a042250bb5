import { gapsOfRecord } from '../model/record-gaps.ts';
import { subjectPerson } from '../model/trial-event.ts';
import type { TrialEvent } from '../model/trial-event.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { alarmOfLimit } from '../model/watched-limit.ts';
import { counted } from './numbers.ts';
import { reportWords } from './words.ts';

/** How an exercise went, last attempt. */
export interface ToldExercise {
  readonly exercise: string;
  readonly name: string;
  /** 0: it was never begun. */
  readonly attempts: number;
  readonly beganAtMicroseconds: number | null;
  readonly endedAtMicroseconds: number | null;
  readonly complete: boolean;
}

/** A stretch that an instrument or the program did not see, trial time, µs. */
export interface Gap {
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
  readonly text: string;
  /** Whether it is one of the photometer's: the trace shows these. */
  readonly ofPhotometer: boolean;
}

/** Something that a person would write down. */
export interface Happening {
  readonly atMicroseconds: number;
  readonly what: string;
  /** What somebody wrote or an instrument sent, and who; empty when nothing. */
  readonly said: string;
}

/** Every exercise of the series, in its order. */
export function tellExercises(record: TrialRecord): ToldExercise[] {
  const told = new Map<string, Omit<ToldExercise, 'exercise' | 'name'>>();
  for (const event of record.events) {
    if (event.kind === 'exercise-began') {
      told.set(event.exercise, {
        attempts: event.attempt,
        beganAtMicroseconds: event.atMicroseconds,
        endedAtMicroseconds: null,
        complete: false,
      });
    } else if (event.kind === 'exercise-ended') {
      const before = told.get(event.exercise);
      if (before === undefined) continue;
      told.set(event.exercise, {
        ...before,
        endedAtMicroseconds: event.atMicroseconds,
        complete: event.complete,
      });
    }
  }
  const unstarted = { attempts: 0, beganAtMicroseconds: null, endedAtMicroseconds: null, complete: false };
  return record.series.exercises.map(({ exercise, name }) => ({
    exercise,
    name,
    ...(told.get(exercise) ?? unstarted),
  }));
}

/** Stretches without readings, in words, in order of their beginning. */
export function tellGaps(record: TrialRecord, endMicroseconds: number): Gap[] {
  return gapsOfRecord(record, endMicroseconds).map(({ cause, ...gap }) => ({
    ...gap,
    text: 'instrument' in cause ? reportWords.gap[cause.kind](cause.instrument) : reportWords.gap[cause.kind],
  }));
}

/** A report is read by people: more than this are counted instead. */
const mostHappenings = 200;

/** What happened besides the plan, in order of time, and how much of it found no room. */
export function tellHappenings(record: TrialRecord): { readonly told: Happening[]; readonly untold: number } {
  const watched = [...(record.header.watch ?? []), ...(record.rig.watch ?? [])];
  const nameOf = (alarm: string): string =>
    watched.find((limit) => alarmOfLimit(limit) === alarm)?.title ?? alarm.replaceAll('-', ' ');
  const all = record.events.flatMap((event) => happeningOf(event, nameOf) ?? []);
  return { told: all.slice(0, mostHappenings), untold: Math.max(0, all.length - mostHappenings) };
}

/** @param nameOf name of an alarm, for people. */
function happeningOf(event: TrialEvent, nameOf: (alarm: string) => string): Happening | null {
  const { happened } = reportWords;
  const at = { atMicroseconds: event.atMicroseconds };
  switch (event.kind) {
    case 'operator-action':
      return {
        ...at,
        what: happened.action(event.action, event.person === subjectPerson),
        said: joinSaid(event.note, event.source === undefined ? event.person : event.source.instrument),
      };
    case 'rest-lengthened': {
      const what = happened.restLengthened(event.exercise, event.byMicroseconds / 1_000_000);
      return { ...at, what, said: joinSaid(event.note, event.person) };
    }
    case 'valve-by-hand':
      return { ...at, what: happened.valveByHand(event.port), said: event.person };
    case 'mark-noted':
      return { ...at, what: happened.mark, said: joinSaid(event.note, event.person) };
    case 'phase-changed':
      return { ...at, what: happened.phase(event.to), said: event.reason };
    case 'alarm-raised':
    case 'alarm-cleared':
      return { ...at, what: happened.alarm(event.kind, nameOf(event.alarm), event.instrument), said: event.detail };
    case 'alarm-acknowledged':
      return {
        ...at,
        what: happened.alarm(event.kind, nameOf(event.alarm), event.instrument),
        said: joinSaid(event.reason, event.person),
      };
    case 'problem':
      return {
        ...at,
        what: happened.problem(event.problem.code, event.problem.instrument),
        said: event.problem.detail,
      };
    case 'port-unconfirmed':
      return { ...at, what: happened.unconfirmed(event.port), said: event.detail };
    case 'dwell-ended':
      return event.complete ? null : { ...at, what: happened.cutShort(event.dwell), said: event.reason };
    case 'time-lost': {
      const seconds = (event.lostMicroseconds / 1_000_000).toFixed(1);
      return { ...at, what: happened.timeLost(event.cause, seconds), said: '' };
    }
    case 'wall-clock-set':
      return { ...at, what: happened.clockSet((event.byMicroseconds / 1_000_000).toFixed(1)), said: '' };
    case 'segment-began':
      return event.segment.reason === 'start' ? null : { ...at, what: reportWords.gap[event.segment.reason], said: '' };
    default:
      return null;
  }
}

function joinSaid(text: string, person: string): string {
  return text === '' ? person : `${text} (${person})`;
}

/** `12 confirmed, 1 not confirmed`: what the valve said of the dwells. */
export function confirmationsInWords(confirmed: number, unconfirmed: number, wrong: number): string {
  const parts = [counted(confirmed, 'dwell confirmed', 'dwells confirmed')];
  if (unconfirmed > 0) parts.push(counted(unconfirmed, 'not confirmed', 'not confirmed'));
  if (wrong > 0) parts.push(counted(wrong, 'on another port', 'on another port'));
  return parts.join(', ');
}
