import type { Problem, Reading } from '../model/reading.ts';
import type { StreamDescriptor } from '../model/stream.ts';
import { toMicroseconds, toSeconds } from '../model/time.ts';
import type { WatchedLimit } from '../model/watched-limit.ts';
import { clear, isStanding, keyOf, raise } from './alarm-work.ts';
import type { Alarm, SafetyEvent, SafetyState, Work } from './alarm-work.ts';
import { loseStop, watchStop } from './contacts.ts';
import type { WatchedContact } from './contacts.ts';
import { watchLimits } from './watched-limits.ts';

export type { Alarm, SafetyEvent, SafetyState } from './alarm-work.ts';

/** What is watched. Limits come from the responsible person; the stricter of two counts. */
export interface SafetyLimits {
  /** Every stream that must not fall silent; those without a silence limit are not watched. */
  readonly streams: readonly StreamDescriptor[];
  readonly heartRate: {
    readonly instrument: string;
    readonly stream: string;
    /** Highest heart rate allowed, per minute. */
    readonly highest: number;
    /** The alarm clears when the rate has come down by this much below the limit, per minute. */
    readonly clearBelow: number;
  } | null;
  /** Limits that the rig or the plan sets, each an alarm of its own. */
  readonly watched: readonly WatchedLimit[];
  /** Contacts of the rig: of a stop, pressing and silence are alarms of their own. */
  readonly contacts: readonly WatchedContact[];
  /** The alarm for lost contact clears after readings without a loss for this long, s. */
  readonly contactClearSeconds: number;
}

export type SafetyInput =
  | { readonly input: 'reading'; readonly reading: Reading }
  | { readonly input: 'problem'; readonly problem: Problem }
  | { readonly input: 'time'; readonly atMicroseconds: number }
  /** A cause that others watch, in the program itself: it begins, or it is gone. */
  | {
      readonly input: 'condition';
      readonly atMicroseconds: number;
      readonly alarm: string;
      /** Left out when it is the program's own. */
      readonly instrument?: string | null;
      readonly standing: boolean;
      readonly detail: string;
    }
  /** The selector valve said that it is on the port that was asked for, or something else, or nothing. */
  | {
      readonly input: 'port';
      readonly atMicroseconds: number;
      readonly instrument: string;
      readonly confirmed: boolean;
      /** What is wrong, in words; of a confirmed port, nothing. */
      readonly detail: string;
    }
  /** A person has seen the alarm. */
  | {
      readonly input: 'acknowledge';
      readonly atMicroseconds: number;
      readonly alarm: string;
      readonly instrument: string | null;
      /** Code of who has seen it, and what they say of it; may be empty. */
      readonly person: string;
      readonly reason: string;
    };

/**
 * Nothing heard yet: silence counts from here.
 * @param alarms those that a watch before this one left behind.
 */
export function beginSafety(atMicroseconds: number, alarms: readonly Alarm[] = []): SafetyState {
  return {
    beganAtMicroseconds: atMicroseconds,
    nowMicroseconds: atMicroseconds,
    lastReading: {},
    lastContactLoss: {},
    pressedStops: [],
    beyond: {},
    stoodBefore: alarms.filter((alarm) => alarm.clearedAtMicroseconds === null).map(({ alarm }) => alarm),
    alarms,
  };
}

/**
 * One step of the watch: (state, input) → state and events; pure. An alarm is raised once when its cause begins and
 * cleared once when the cause has gone, so that the record brackets the time of doubt. It *latches for people*: it
 * stays in `alarms` after clearing until it has been acknowledged; an acknowledgement alone never clears a cause.
 *
 * Silence is a fault: a stream without a reading for longer than its limit, also from the very beginning. A value
 * that is no number is no reading.
 */
export function evaluate(
  state: SafetyState,
  input: SafetyInput,
  limits: SafetyLimits,
): { readonly state: SafetyState; readonly events: readonly SafetyEvent[] } {
  const work = { state, events: [] as SafetyEvent[] };
  moveClock(work, timeOf(input));
  // Before the reading that ends a silence is taken in: a gap that nobody looked at is raised, then cleared.
  watchSilence(work, limits);
  if (input.input === 'reading' && Number.isFinite(input.reading.value)) watchReading(work, input.reading, limits);
  if (input.input === 'problem') watchProblem(work, input.problem, limits);
  if (input.input === 'condition' && input.standing) raise(work, input.alarm, input.instrument ?? null, input.detail);
  if (input.input === 'condition' && !input.standing) clear(work, input.alarm, input.instrument ?? null, input.detail);
  if (input.input === 'acknowledge') acknowledge(work, input);
  if (input.input === 'port') watchPort(work, input);
  return work;
}

function timeOf(input: SafetyInput): number {
  switch (input.input) {
    case 'reading':
      return input.reading.atMicroseconds;
    case 'problem':
      return input.problem.atMicroseconds;
    case 'time':
    case 'condition':
    case 'acknowledge':
    case 'port':
      return input.atMicroseconds;
  }
}

/** Next trial time at which a stream would have been silent for too long, µs; null when nothing can fall silent. */
export function nextSilenceAt(state: SafetyState, limits: SafetyLimits): number | null {
  let earliest: number | null = null;
  for (const stream of limits.streams) {
    const at = silentAt(state, stream);
    if (at === null || isStanding(state, silenceAlarm(stream, limits), stream.instrument)) continue;
    earliest = earliest === null ? at : Math.min(earliest, at);
  }
  return earliest;
}

/** Alarms whose cause lasts. */
export function standingAlarms(state: SafetyState): Alarm[] {
  return state.alarms.filter((alarm) => alarm.clearedAtMicroseconds === null);
}

function moveClock(work: Work, atMicroseconds: number): void {
  if (atMicroseconds > work.state.nowMicroseconds) work.state = { ...work.state, nowMicroseconds: atMicroseconds };
}

/** Alarm names are short names of at most 40 characters. */
function silenceAlarm(stream: StreamDescriptor, limits: SafetyLimits): string {
  if (stopOf(limits, stream.instrument, stream.stream) !== undefined) return 'stop-contact-lost';
  return `silence-${stream.stream}`.slice(0, 40).replace(/-$/, '');
}

/** First microsecond at which the stream has been silent for longer than its limit. */
function silentAt(state: SafetyState, stream: StreamDescriptor): number | null {
  if (stream.silenceLimitSeconds === null) return null;
  const last = state.lastReading[keyOf(stream.instrument, stream.stream)] ?? state.beganAtMicroseconds;
  return last + toMicroseconds(stream.silenceLimitSeconds) + 1;
}

function watchSilence(work: Work, limits: SafetyLimits): void {
  for (const stream of limits.streams) {
    const at = silentAt(work.state, stream);
    if (at === null || at > work.state.nowMicroseconds) continue;
    const detail = `No reading of ${stream.stream} for more than ${stream.silenceLimitSeconds ?? 0} s.`;
    raise(work, silenceAlarm(stream, limits), stream.instrument, detail);
  }
}

function watchReading(work: Work, reading: Reading, limits: SafetyLimits): void {
  const { instrument, stream, atMicroseconds, value } = reading;
  const key = keyOf(instrument, stream);
  work.state = { ...work.state, lastReading: { ...work.state.lastReading, [key]: atMicroseconds } };
  const descriptor = limits.streams.find((entry) => entry.instrument === instrument && entry.stream === stream);
  if (descriptor !== undefined) clear(work, silenceAlarm(descriptor, limits), instrument, `${stream} is heard again.`);
  const stop = stopOf(limits, instrument, stream);
  if (stop !== undefined) watchStop(work, stop, value);
  const lost = work.state.lastContactLoss[instrument];
  if (lost !== undefined && toSeconds(atMicroseconds - lost) >= limits.contactClearSeconds) {
    clear(work, 'contact-lost', instrument, 'The sensor has contact again.');
  }
  watchLimits(work, reading, limits.watched, descriptor?.silenceLimitSeconds ?? null);
  const { heartRate } = limits;
  if (heartRate === null || heartRate.instrument !== instrument || heartRate.stream !== stream) return;
  const rate = value.toFixed(0);
  if (value > heartRate.highest) {
    const detail = `Heart rate ${rate}/min is above the limit of ${heartRate.highest}/min.`;
    raise(work, 'heart-rate-high', instrument, detail);
  } else if (value <= heartRate.highest - heartRate.clearBelow) {
    clear(work, 'heart-rate-high', instrument, `Heart rate is down to ${rate}/min.`);
  }
}

/** A stop by its instrument and stream; undefined for any other stream. */
function stopOf(limits: SafetyLimits, instrument: string, stream: string): WatchedContact | undefined {
  return limits.contacts.find(
    (contact) => contact.part === 'stop' && contact.instrument === instrument && contact.stream === stream,
  );
}

function watchProblem(work: Work, problem: Problem, limits: SafetyLimits): void {
  if (problem.code === 'contact-lost') watchContactLoss(work, problem);
  const isStop = limits.contacts.some(({ instrument, part }) => part === 'stop' && instrument === problem.instrument);
  if (problem.code === 'connection-lost' && isStop) loseStop(work, problem.instrument, problem.detail);
}

function watchContactLoss(work: Work, problem: Problem): void {
  const lastContactLoss = { ...work.state.lastContactLoss, [problem.instrument]: problem.atMicroseconds };
  work.state = { ...work.state, lastContactLoss };
  raise(work, 'contact-lost', problem.instrument, problem.detail);
}

/** Until the valve has confirmed some port again, nobody knows what the photometer looks at. */
function watchPort(work: Work, { instrument, confirmed, detail }: Extract<SafetyInput, { input: 'port' }>): void {
  if (confirmed) clear(work, 'valve-unconfirmed', instrument, 'The valve confirms its port again.');
  else raise(work, 'valve-unconfirmed', instrument, detail);
}

/** Nothing happens, and nothing is recorded, when no such alarm waits to be seen. */
function acknowledge(work: Work, input: Extract<SafetyInput, { input: 'acknowledge' }>): void {
  const { alarm, instrument, person, reason } = input;
  const isMeant = (entry: Alarm): boolean => entry.alarm === alarm && entry.instrument === instrument;
  if (!work.state.alarms.some((entry) => isMeant(entry) && !entry.acknowledged)) return;
  const alarms = work.state.alarms.flatMap((entry) => {
    if (!isMeant(entry)) return [entry];
    return entry.clearedAtMicroseconds === null ? [{ ...entry, acknowledged: true }] : [];
  });
  work.state = { ...work.state, alarms };
  const atMicroseconds = work.state.nowMicroseconds;
  work.events.push({ kind: 'alarm-acknowledged', atMicroseconds, alarm, instrument, person, reason });
}
