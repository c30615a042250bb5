import { expect } from 'vitest';
import { assess } from '../../src/leakage/assess.ts';
import type { Cell } from '../../src/leakage/assessment.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import type { Flag } from '../../src/leakage/flag.ts';
import type { TrialEvent } from '../../src/model/trial-event.ts';
import type { TrialRecord } from '../../src/model/trial-record.ts';
import { nominal, syntheticTrial } from './synthetic-trial.ts';

/** One synthetic trial in good order, with the noise of a real photometer, and ways to spoil a copy of it. */
export const { record } = syntheticTrial({ noise: 4e-5 });
export const healthy = assess(record, firstMethod);
export const readingNoise = 4e-5 * nominal;

export interface Place {
  readonly dwell: number;
  readonly from: number;
  readonly to: number;
}

/** Where a probe dwell lies, by exercise and probe; `from` is the acknowledgement, `to` the release, µs. */
export function dwellWhere(
  is: (event: TrialEvent & { kind: 'dwell-began' }) => boolean,
  source: TrialRecord = record,
): Place {
  const began = source.events.find((event) => event.kind === 'dwell-began' && is(event));
  if (began?.kind !== 'dwell-began') throw new Error('no such dwell');
  const { dwell } = began.dwell;
  const at = (kind: 'port-acknowledged' | 'dwell-ended'): number =>
    source.events.find((event) => event.kind === kind && event.dwell === dwell)?.atMicroseconds ?? Number.NaN;
  return { dwell, from: at('port-acknowledged'), to: at('dwell-ended') };
}

export const ofProbe = (exercise: string, probe: string): Place =>
  dwellWhere(({ dwell }) => dwell.exercise === exercise && dwell.probe === probe && dwell.purpose === 'probe');

export const cellOf = (source: { readonly cells: readonly Cell[] }, exercise: string, probe: string): Cell => {
  const cell = source.cells.find((candidate) => candidate.exercise === exercise && candidate.probe === probe);
  if (cell === undefined) throw new Error(`no cell ${exercise} ${probe}`);
  return cell;
};

export const withEvents = (change: (events: readonly TrialEvent[]) => readonly TrialEvent[]): TrialRecord => ({
  ...record,
  events: change(record.events),
});

/** Replaces readings that arrive in [from, to); null removes them. */
export function withReadings(
  from: number,
  to: number,
  change: (value: number) => number | null,
  source = record,
): TrialRecord {
  const [stream] = source.streams;
  if (stream === undefined) throw new Error('no stream');
  const at: number[] = [];
  const values: number[] = [];
  stream.values.forEach((value, index) => {
    const when = stream.atMicroseconds[index] as number;
    const changed = from <= when && when < to ? change(value) : value;
    if (changed === null) return;
    at.push(when);
    values.push(changed);
  });
  return {
    ...source,
    streams: [{ ...stream, atMicroseconds: Float64Array.from(at), values: Float64Array.from(values) }],
  };
}

/** Exactly these cells carry the flag. */
export function expectOnly(
  source: { readonly cells: readonly Cell[] },
  flag: Flag,
  places: readonly [string, string][],
): void {
  const flagged = source.cells.filter((cell) => cell.flags.includes(flag)).map((cell) => [cell.exercise, cell.probe]);
  expect(flagged).toEqual(places);
}

export const without =
  (...dwells: number[]) =>
  (events: readonly TrialEvent[]) =>
    events.filter(
      (event) =>
        !('dwell' in event && dwells.includes(typeof event.dwell === 'number' ? event.dwell : event.dwell.dwell)),
    );

export const purposes = (purpose: string): number[] =>
  record.events.flatMap((event) =>
    event.kind === 'dwell-began' && event.dwell.purpose === purpose ? [event.dwell.dwell] : [],
  );
