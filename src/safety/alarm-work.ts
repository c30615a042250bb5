import type { TrialEventOf } from '../model/trial-event.ts';

/** Since when every value of a limit's stream has been beyond the limit, and the last of them, µs. */
export interface Beyond {
  readonly sinceMicroseconds: number;
  readonly lastMicroseconds: number;
}

/** An alarm that stands, or has stood and has not been seen by anyone yet. */
export interface Alarm {
  readonly alarm: string;
  readonly instrument: string | null;
  readonly detail: string;
  readonly raisedAtMicroseconds: number;
  /** Null while its cause lasts. */
  readonly clearedAtMicroseconds: number | null;
  readonly acknowledged: boolean;
}

/** Plain data; replaced, never changed. */
export interface SafetyState {
  readonly beganAtMicroseconds: number;
  readonly nowMicroseconds: number;
  /** Last reading of each stream, by `instrument/stream`. */
  readonly lastReading: Readonly<Record<string, number>>;
  /** Last loss of contact that each instrument reported. */
  readonly lastContactLoss: Readonly<Record<string, number>>;
  /** Stops that are pressed, by `instrument/stream`. */
  readonly pressedStops: readonly string[];
  /** Runs of values beyond a limit, by the name of its alarm. */
  readonly beyond: Readonly<Record<string, Beyond>>;
  /** Alarms of limits that stood when a watch before this one ended: the first value beyond raises them again. */
  readonly stoodBefore: readonly string[];
  readonly alarms: readonly Alarm[];
}

export type SafetyEvent =
  | TrialEventOf<'alarm-raised'>
  | TrialEventOf<'alarm-cleared'>
  | TrialEventOf<'alarm-acknowledged'>;

/** One step of the watch under way. */
export interface Work {
  state: SafetyState;
  readonly events: SafetyEvent[];
}

/** How a stream is called in a state. */
export function keyOf(instrument: string, stream: string): string {
  return `${instrument}/${stream}`;
}

export function isStanding(state: SafetyState, alarm: string, instrument: string | null): boolean {
  return state.alarms.some(
    (entry) => entry.alarm === alarm && entry.instrument === instrument && entry.clearedAtMicroseconds === null,
  );
}

export function raise(work: Work, alarm: string, instrument: string | null, detail: string): void {
  if (isStanding(work.state, alarm, instrument)) return;
  const atMicroseconds = work.state.nowMicroseconds;
  // An older one of the same name that nobody has seen gives way: the record keeps both.
  const others = work.state.alarms.filter((entry) => entry.alarm !== alarm || entry.instrument !== instrument);
  const added: Alarm = {
    alarm,
    instrument,
    detail,
    raisedAtMicroseconds: atMicroseconds,
    clearedAtMicroseconds: null,
    acknowledged: false,
  };
  work.state = { ...work.state, alarms: [...others, added] };
  work.events.push({ kind: 'alarm-raised', atMicroseconds, alarm, instrument, detail });
}

export function clear(work: Work, alarm: string, instrument: string | null, detail: string): void {
  if (!isStanding(work.state, alarm, instrument)) return;
  const atMicroseconds = work.state.nowMicroseconds;
  const alarms = work.state.alarms.flatMap((entry) => {
    if (entry.alarm !== alarm || entry.instrument !== instrument) return [entry];
    return entry.acknowledged ? [] : [{ ...entry, clearedAtMicroseconds: atMicroseconds }];
  });
  work.state = { ...work.state, alarms };
  work.events.push({ kind: 'alarm-cleared', atMicroseconds, alarm, instrument, detail });
}
