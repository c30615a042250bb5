import { toMicroseconds } from './time.ts';
import { streamOf, type TrialRecord } from './trial-record.ts';

/** Why a stretch holds no readings. */
export type GapCause =
  | { readonly kind: 'wake' | 'restart' }
  /** The instrument was not connected, or was connected and sent nothing that could be read. */
  | { readonly kind: 'lost' | 'silent'; readonly instrument: string };

/** A stretch that an instrument or the program did not see, trial time, µs. */
export interface RecordGap {
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
  readonly cause: GapCause;
  /** Whether it is one of the photometer's: no line of its readings goes through. */
  readonly ofPhotometer: boolean;
}

/** A silence of the photometer is told from here on, s: what a window flags begins far below, at what a person sees. */
const shortestSilenceSeconds = 1;

/**
 * Breaks of the recording, stretches in which an instrument was not connected, and silences of the photometer that
 * neither explains, in order of their beginning. What the readings themselves show counts, not only what was reported.
 * @param endMicroseconds end of the record, trial time.
 */
export function gapsOfRecord(record: TrialRecord, endMicroseconds: number): RecordGap[] {
  const told = [...breaks(record), ...losses(record, endMicroseconds)];
  const explained = told.filter((gap) => gap.ofPhotometer);
  const silent = silences(record, endMicroseconds).filter(
    (silence) => !explained.some((gap) => shared(gap, silence) > 0),
  );
  return [...told, ...silent].sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
}

function breaks(record: TrialRecord): RecordGap[] {
  return record.segments.flatMap(({ reason, beginsAtMicroseconds: toMicroseconds }): RecordGap[] => {
    if (reason === 'start') return [];
    const fromMicroseconds = lastBefore(record, toMicroseconds);
    if (fromMicroseconds >= toMicroseconds) return [];
    return [{ fromMicroseconds, toMicroseconds, cause: { kind: reason }, ofPhotometer: true }];
  });
}

function losses(record: TrialRecord, endMicroseconds: number): RecordGap[] {
  const gaps: RecordGap[] = [];
  const lostAt = new Map<string, number>();
  const end = (instrument: string, fromMicroseconds: number, toMicroseconds: number): void => {
    lostAt.delete(instrument);
    if (fromMicroseconds >= toMicroseconds) return;
    const ofPhotometer = instrument === record.rig.photometer;
    gaps.push({ fromMicroseconds, toMicroseconds, cause: { kind: 'lost', instrument }, ofPhotometer });
  };
  for (const event of record.events) {
    if (event.kind !== 'problem') continue;
    const { code, instrument } = event.problem;
    const from = lostAt.get(instrument);
    if (code === 'connection-lost' && from === undefined) lostAt.set(instrument, event.atMicroseconds);
    if (code === 'connection-restored' && from !== undefined) end(instrument, from, event.atMicroseconds);
  }
  for (const [instrument, from] of [...lostAt]) end(instrument, from, endMicroseconds);
  return gaps;
}

function silences({ rig, ...record }: TrialRecord, endMicroseconds: number): RecordGap[] {
  const stream = streamOf({ rig, ...record }, rig.photometer, rig.photometerStream);
  if (stream === undefined) return [];
  const expected = stream.descriptor.expectedIntervalSeconds ?? 0;
  const longest = toMicroseconds(Math.max(shortestSilenceSeconds, 3 * expected));
  const cause = { kind: 'silent', instrument: rig.photometer } as const;
  const gaps: RecordGap[] = [];
  const { atMicroseconds: times } = stream;
  for (let index = 1; index <= times.length; index += 1) {
    const fromMicroseconds = times[index - 1] as number;
    const until = times[index] ?? endMicroseconds;
    if (until - fromMicroseconds <= longest) continue;
    gaps.push({ fromMicroseconds, toMicroseconds: until, cause, ofPhotometer: true });
  }
  return gaps;
}

function shared(one: RecordGap, other: RecordGap): number {
  const from = Math.max(one.fromMicroseconds, other.fromMicroseconds);
  return Math.min(one.toMicroseconds, other.toMicroseconds) - from;
}

/** Last thing that was recorded before a moment: a reading or an event. */
function lastBefore(record: TrialRecord, atMicroseconds: number): number {
  let last = 0;
  for (const { atMicroseconds: at } of record.events) if (at < atMicroseconds && at > last) last = at;
  for (const stream of record.streams) {
    for (const at of stream.atMicroseconds) if (at < atMicroseconds && at > last) last = at;
  }
  return last;
}
