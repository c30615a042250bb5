import type { Rig } from '../../model/rig.ts';
import type { Method } from '../../model/method.ts';
import type { Series } from '../../model/series.ts';
import type { Signature } from '../../model/signature.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent, TrialHeader } from '../../model/trial-event.ts';
import type { StreamRecord, TrialRecord } from '../../model/trial-record.ts';
import type { ChambersideError } from '../../model/error-code.ts';
import { fileDamaged } from '../file-error.ts';
import { assessmentsIn } from './assessments.ts';
import type {
  RecordedInstrument,
  StoredAssessment,
  StudyIdentity,
  TrialSummary,
  UnfinishedTrial,
  WireDirection,
  WireRecord,
} from './contract.ts';
import { openForReading, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { decodeReadings, decodeWire, noCipher, readingsEncoding, wireEncoding } from './encoding.ts';
import { releasesIn } from './signature-rows.ts';
import {
  allTrials,
  frozenPart,
  segmentsOf,
  storedEvent,
  studyIdentity,
  trialRow,
  trialSummary,
  unfinishedTrials,
} from './trial-rows.ts';

/**
 * Reading a study file, over a read-only connection that lives for one call. Works while a host records into it:
 * what is committed is there. All of it is synchronous: call it where a hundred milliseconds do not matter.
 */

/** What a list of studies shows, of one moment and without touching raw data. */
export interface StudyOverview {
  readonly study: StudyIdentity;
  /** In the order in which they were begun. */
  readonly trials: readonly TrialSummary[];
  /** In the order in which they were made. */
  readonly assessments: readonly StoredAssessment[];
  /** The releases that stand, by trial: their assessments count, of other trials the newest. */
  readonly releases: ReadonlyMap<string, Signature>;
}

/**
 * The study, its trials and its assessments.
 * @throws ChambersideError, as every function here, `file-not-found`, `file-not-ours`, `file-newer`, `file-damaged`.
 */
export function readStudyOverview(path: string): StudyOverview {
  return reading(path, (connection) => ({
    study: studyIdentity(connection, path),
    trials: allTrials(connection).map((row) => trialSummary(connection, row, path)),
    assessments: assessmentsIn(connection, path),
    releases: releasesIn(connection, path),
  }));
}

/** All trials in the order in which they were begun, without touching raw data. */
export function listTrials(path: string): TrialSummary[] {
  return reading(path, (connection) => allTrials(connection).map((row) => trialSummary(connection, row, path)));
}

/** One trial, without touching raw data or the other trials. @throws also `trial-not-found`. */
export function readTrialSummary(path: string, trial: string): TrialSummary {
  return reading(path, (connection) => trialSummary(connection, trialRow(connection, trial, path), path));
}

/** Trials that are not sealed, with what a restart needs. */
export function listUnfinishedTrials(path: string): UnfinishedTrial[] {
  return reading(path, (connection) => unfinishedTrials(connection, path));
}

/** The method that a trial was planned to be assessed with. @throws also `trial-not-found`. */
export function readPlannedMethod(path: string, trial: string): Method {
  return reading(
    path,
    (connection) => frozenPart(connection, trialRow(connection, trial, path).number, 'method', path) as Method,
  );
}

/** The instruments as they were connected when the trial began. @throws also `trial-not-found`. */
export function readInstruments(path: string, trial: string): RecordedInstrument[] {
  return reading(
    path,
    (connection) =>
      frozenPart(connection, trialRow(connection, trial, path).number, 'instruments', path) as RecordedInstrument[],
  );
}

/** What a trial was planned to be and what happened, without readings. @throws also `trial-not-found`. */
export function readTrialPlan(
  path: string,
  trial: string,
): Pick<TrialRecord, 'header' | 'rig' | 'series'> & { readonly events: readonly TrialEvent[] } {
  return reading(path, (connection) => {
    const { number } = trialRow(connection, trial, path);
    return {
      header: frozenPart(connection, number, 'header', path) as TrialHeader,
      rig: frozenPart(connection, number, 'rig', path) as Rig,
      series: frozenPart(connection, number, 'series', path) as Series,
      events: readEvents(connection, number, path),
    };
  });
}

/** Segments of a trial in order, without readings. @throws also `trial-not-found`. */
export function readTrialSegments(path: string, trial: string): TimeSegment[] {
  return reading(path, (connection) => segmentsOf(connection, trialRow(connection, trial, path).number, path));
}

/** A whole trial, sealed or not. @throws also `trial-not-found`. */
export function readTrial(path: string, trial: string): TrialRecord {
  return reading(path, (connection) => {
    const { number } = trialRow(connection, trial, path);
    const descriptors = frozenPart(connection, number, 'streams', path) as StreamDescriptor[];
    return {
      header: frozenPart(connection, number, 'header', path) as TrialHeader,
      rig: frozenPart(connection, number, 'rig', path) as Rig,
      series: frozenPart(connection, number, 'series', path) as Series,
      segments: segmentsOf(connection, number, path),
      events: readEvents(connection, number, path),
      streams: readStreams(connection, number, descriptors, path),
    };
  });
}

/**
 * Readings of one stream that arrived in [from, to), trial time, µs, as far as they are committed.
 * @throws also `trial-not-found`.
 */
export function readStreamBetween(
  path: string,
  trial: string,
  stream: number,
  fromMicroseconds: number,
  toMicroseconds: number,
): { readonly times: Float64Array; readonly values: Float64Array } {
  return reading(path, (connection) => {
    const { number } = trialRow(connection, trial, path);
    // What came late stands in a later second than its time: one second more is looked at.
    const rows = connection.prepare<[number, number, number, number], ChunkRow>(
      `SELECT chunk.link, stream, encoding, cipher, blob, link.from_microseconds
       FROM chunk JOIN link ON link.trial = chunk.trial AND link.link = chunk.link
       WHERE chunk.trial = ? AND stream = ? AND link.through_microseconds > ? AND link.from_microseconds < ?
       ORDER BY chunk.link`,
    );
    const times: number[] = [];
    const values: number[] = [];
    for (const row of rows.iterate(number, stream, fromMicroseconds, toMicroseconds + 1_000_000)) {
      const block = decoded(row, readingsEncoding, path, () => decodeReadings(row.blob, row.from_microseconds));
      for (const [index, at] of block.times.entries()) {
        if (at < fromMicroseconds || at >= toMicroseconds) continue;
        times.push(at);
        values.push(block.values[index] as number);
      }
    }
    return { times: Float64Array.from(times), values: Float64Array.from(values) };
  });
}

/**
 * Everything that went over the wire, in order of link, instrument, direction and time.
 * @param instrument only this one; all when absent.
 * @throws also `trial-not-found`.
 */
export function readWire(path: string, trial: string, instrument?: string): WireRecord[] {
  return reading(path, (connection) => {
    const { number } = trialRow(connection, trial, path);
    const instruments = frozenPart(connection, number, 'instruments', path) as RecordedInstrument[];
    const records: WireRecord[] = [];
    const rows = connection.prepare<[number], WireRow>(
      `SELECT wire.link, instrument, direction, encoding, cipher, blob, link.from_microseconds
       FROM wire JOIN link ON link.trial = wire.trial AND link.link = wire.link
       WHERE wire.trial = ? ORDER BY wire.link, instrument, direction`,
    );
    for (const row of rows.iterate(number)) {
      const name = instruments[row.instrument]?.instrument ?? `instrument ${row.instrument}`;
      if (instrument !== undefined && name !== instrument) continue;
      const direction: WireDirection = row.direction === 0 ? 'in' : 'out';
      const reads = decoded(row, wireEncoding, path, () => decodeWire(row.blob, row.from_microseconds));
      for (const read of reads) records.push({ instrument: name, direction, ...read });
    }
    return records;
  });
}

interface BlobRow {
  readonly link: number;
  readonly encoding: string;
  readonly cipher: string;
  readonly blob: Uint8Array;
  readonly from_microseconds: number;
}

interface WireRow extends BlobRow {
  readonly instrument: number;
  readonly direction: number;
}

interface ChunkRow extends BlobRow {
  readonly stream: number;
}

function reading<Result>(path: string, work: (connection: Connection) => Result): Result {
  const connection = openForReading('study', path);
  try {
    // One transaction, so that all of it is of the same moment while a host records.
    return connection.transaction(() => work(connection))();
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}

function decoded<Result>(row: BlobRow, encoding: string, path: string, decode: () => Result): Result {
  try {
    if (row.encoding === encoding && row.cipher === noCipher) return decode();
  } catch (error) {
    throw damaged(row, path, error);
  }
  throw damaged(row, path, new RangeError(`encoding ${row.encoding}, cipher ${row.cipher}`));
}

function damaged(row: BlobRow, path: string, cause: unknown): ChambersideError {
  return fileDamaged(`A chunk of link ${row.link} cannot be decoded: ${(cause as Error).message}`, path, cause);
}

function readEvents(connection: Connection, number: number, path: string): TrialEvent[] {
  const rows = connection
    .prepare<[number], { json: string }>('SELECT json FROM event WHERE trial = ? ORDER BY link, position')
    .all(number);
  return rows.map((row) => storedEvent(row.json, path));
}

function readStreams(
  connection: Connection,
  number: number,
  descriptors: readonly StreamDescriptor[],
  path: string,
): StreamRecord[] {
  const totals = connection
    .prepare<
      [number],
      { stream: number; total: number }
    >('SELECT stream, sum(count) AS total FROM chunk WHERE trial = ? GROUP BY stream')
    .all(number);
  const lengths = new Map(totals.map((row) => [row.stream, row.total]));
  const records = descriptors.map((descriptor, index) => {
    const length = lengths.get(index) ?? 0;
    return { descriptor, atMicroseconds: new Float64Array(length), values: new Float64Array(length), filled: 0 };
  });
  const rows = connection.prepare<[number], ChunkRow>(
    `SELECT chunk.link, stream, encoding, cipher, blob, link.from_microseconds
     FROM chunk JOIN link ON link.trial = chunk.trial AND link.link = chunk.link
     WHERE chunk.trial = ? ORDER BY chunk.link, stream`,
  );
  for (const row of rows.iterate(number)) {
    const record = records[row.stream];
    const block = decoded(row, readingsEncoding, path, () => decodeReadings(row.blob, row.from_microseconds));
    if (record === undefined || record.filled + block.times.length > record.values.length) {
      throw damaged(row, path, new RangeError('it does not fit its stream'));
    }
    record.atMicroseconds.set(block.times, record.filled);
    record.values.set(block.values, record.filled);
    record.filled += block.times.length;
  }
  return records.map(({ descriptor, atMicroseconds, values, filled }) => ({
    descriptor,
    atMicroseconds: atMicroseconds.subarray(0, filled),
    values: values.subarray(0, filled),
  }));
}
