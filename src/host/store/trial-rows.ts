import { z } from 'zod';
import type { Identifier } from '../../model/identity.ts';
import { methodSchema } from '../../model/method.ts';
import { rigSchema } from '../../model/rig.ts';
import { seriesSchema } from '../../model/series.ts';
import { streamDescriptorSchema } from '../../model/stream.ts';
import { timeSegmentSchema } from '../../model/time.ts';
import type { TimeSegment } from '../../model/time.ts';
import { trialEventSchema, trialHeaderSchema } from '../../model/trial-event.ts';
import type { TrialEvent, TrialEventOf, TrialHeader, TrialPhase } from '../../model/trial-event.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { voidingSchema } from '../../model/voiding.ts';
import type { Voiding } from '../../model/voiding.ts';
import { fileDamaged } from '../file-error.ts';
import type { StudyIdentity, TrialSummary, UnfinishedTrial } from './contract.ts';
import type { Connection, Statement } from './database.ts';
import { toHexadecimal } from './digest.ts';

/** Questions about trials that need no raw data, over any connection to a study file. */

const kept = new WeakMap<Connection, Map<string, unknown>>();

/** The statement of this text, prepared once for a connection: a list of trials asks the same for each of them. */
function prepared<Bound extends unknown[], Row>(connection: Connection, sql: string): Statement<Bound, Row> {
  let statements = kept.get(connection);
  if (statements === undefined) kept.set(connection, (statements = new Map<string, unknown>()));
  let statement = statements.get(sql) as Statement<Bound, Row> | undefined;
  if (statement === undefined) statements.set(sql, (statement = connection.prepare<Bound, Row>(sql)));
  return statement;
}

export interface TrialRow {
  readonly number: number;
  readonly trial: Identifier;
  readonly created_at: string;
}

const instrumentForm = z.object({
  instrument: z.string(),
  kind: z.string(),
  dialect: z.string(),
  connection: z.string(),
});

/** What is frozen when a trial begins, ascending by name: the order of link 0. Each with the form it is read with. */
const frozenForms = {
  header: trialHeaderSchema,
  instruments: z.array(instrumentForm),
  method: methodSchema,
  program: z.unknown(),
  rig: rigSchema,
  segment: timeSegmentSchema,
  series: seriesSchema,
  streams: z.array(streamDescriptorSchema),
};
export type FrozenPart = keyof typeof frozenForms;
export const frozenParts = Object.keys(frozenForms) as FrozenPart[];

export function studyIdentity(connection: Connection, path: string): StudyIdentity {
  const row = connection
    .prepare<[], { study: Identifier; name: string; created_at: string }>('SELECT study, name, created_at FROM study')
    .get();
  if (row === undefined) {
    throw fileDamaged('The study row is not there', path);
  }
  return { study: row.study, name: row.name, createdAt: row.created_at };
}

export function allTrials(connection: Connection): TrialRow[] {
  return connection.prepare<[], TrialRow>('SELECT number, trial, created_at FROM trial ORDER BY number').all();
}

/** @throws ChambersideError `trial-not-found`. */
export function trialRow(connection: Connection, trial: string, path: string): TrialRow {
  const row = connection
    .prepare<[string], TrialRow>('SELECT number, trial, created_at FROM trial WHERE trial = ?')
    .get(trial);
  if (row === undefined) {
    throw new ChambersideError(
      'trial-not-found',
      `The study holds no trial ${trial}`,
      path,
      'List the trials of the study.',
    );
  }
  return row;
}

/**
 * The parsed configuration, with everything that stands in it.
 * @throws ChambersideError `file-damaged` when it is missing, is no JSON or has not its form.
 */
export function frozenPart(connection: Connection, number: number, part: FrozenPart, path: string): unknown {
  const row = prepared<[number, string], { json: string }>(
    connection,
    'SELECT json FROM frozen WHERE trial = ? AND part = ?',
  ).get(number, part);
  return inForm(frozenForms[part], parseStored(row?.json, `the frozen ${part}`, path), `the frozen ${part}`, path);
}

/**
 * What was read, when it has its form. It is not changed: fields of a later version stay.
 * @throws ChambersideError `file-damaged`, with the first field that is wrong.
 */
export function inForm(form: z.ZodType, stored: unknown, what: string, path: string): unknown {
  const found = form.safeParse(stored);
  if (found.success) return stored;
  const [issue] = found.error.issues;
  const field = issue === undefined || issue.path.length === 0 ? '' : `${issue.path.map(String).join('.')}: `;
  throw fileDamaged(`${what} is not what it should be: ${field}${issue?.message ?? ''}`, path, found.error);
}

/** An event from its JSON. @throws ChambersideError `file-damaged`. */
export function storedEvent(json: string, path: string): TrialEvent {
  return inForm(trialEventSchema, parseStored(json, 'an event', path), 'an event', path) as TrialEvent;
}

/** JSON from the file. @throws ChambersideError `file-damaged`. */
export function parseStored(json: string | undefined, what: string, path: string): unknown {
  try {
    if (json !== undefined) return JSON.parse(json) as unknown;
  } catch {
    // Said below, together with the missing one.
  }
  throw fileDamaged(`${what} cannot be read`, path);
}

export interface LastLink {
  readonly link: number;
  readonly from_microseconds: number;
  readonly through_microseconds: number;
  readonly digest: Uint8Array;
}

export function lastLink(connection: Connection, number: number): LastLink | undefined {
  return prepared<[number], LastLink>(
    connection,
    `SELECT link, from_microseconds, through_microseconds, digest FROM link
     WHERE trial = ? ORDER BY link DESC LIMIT 1`,
  ).get(number);
}

/** Segments in order: the first is frozen with the trial, all of them are events. */
export function segmentsOf(connection: Connection, number: number, path: string): TimeSegment[] {
  const segments = new Map<number, TimeSegment>();
  const first = frozenPart(connection, number, 'segment', path) as TimeSegment;
  segments.set(first.segment, first);
  const rows = connection
    .prepare<[number], { json: string }>(
      "SELECT json FROM event WHERE trial = ? AND kind = 'segment-began' ORDER BY link, position",
    )
    .all(number);
  for (const row of rows) {
    const event = storedEvent(row.json, path) as TrialEventOf<'segment-began'>;
    segments.set(event.segment.segment, event.segment);
  }
  return [...segments.values()].sort((one, other) => one.segment - other.segment);
}

function lastEvent(connection: Connection, number: number, kinds: readonly string[], path: string): TrialEvent | null {
  const query = prepared<[number, string], { link: number; position: number; json: string }>(
    connection,
    'SELECT link, position, json FROM event WHERE trial = ? AND kind = ? ORDER BY link DESC, position DESC LIMIT 1',
  );
  let last: { link: number; position: number; json: string } | undefined;
  for (const kind of kinds) {
    const row = query.get(number, kind);
    if (row === undefined) continue;
    if (last === undefined || row.link > last.link || (row.link === last.link && row.position > last.position))
      last = row;
  }
  return last === undefined ? null : storedEvent(last.json, path);
}

export function phaseOf(connection: Connection, number: number, path: string): TrialPhase | null {
  const event = lastEvent(connection, number, ['phase-changed'], path) as TrialEventOf<'phase-changed'> | null;
  return event?.to ?? null;
}

interface SealRow {
  readonly seal: number;
  readonly links: number;
  readonly head: Uint8Array;
  readonly sealed_at: string;
}

export function sealOf(connection: Connection, trial: string): TrialSummary['sealed'] {
  const row = prepared<[string], SealRow>(
    connection,
    'SELECT seal, links, head, sealed_at FROM seal WHERE trial = ?',
  ).get(trial);
  if (row === undefined) return null;
  return { at: row.sealed_at, head: toHexadecimal(row.head), count: row.links, seal: row.seal };
}

/**
 * Files of version 1 hold none, and are not brought up to date by being read. The table itself is asked for, not the
 * version that the file says it has: with that set back, every void trial would count.
 */
export function hasVoidings(connection: Connection): boolean {
  return hasTable(connection, 'voiding');
}

/** As `hasVoidings`, of files before version 3. */
export function hasSignatures(connection: Connection): boolean {
  return hasTable(connection, 'signature');
}

function hasTable(connection: Connection, name: string): boolean {
  const sql = "SELECT 1 AS found FROM sqlite_master WHERE type = 'table' AND name = ?";
  return prepared<[string], { found: number }>(connection, sql).get(name) !== undefined;
}

/** The decision by which a trial is void; null while it is not. @throws ChambersideError `file-damaged`. */
export function voidedIn(connection: Connection, trial: string, path: string): Voiding | null {
  if (!hasVoidings(connection)) return null;
  const row = prepared<[string], { json: string }>(
    connection,
    'SELECT json FROM voiding WHERE trial = ? ORDER BY number DESC LIMIT 1',
  ).get(trial);
  if (row === undefined) return null;
  const voiding = inForm(voidingSchema, parseStored(row.json, 'a voiding', path), 'a voiding', path) as Voiding;
  return voiding.decision === 'void' ? voiding : null;
}

export function trialSummary(connection: Connection, row: TrialRow, path: string): TrialSummary {
  const last = lastLink(connection, row.number);
  return {
    trial: row.trial,
    header: frozenPart(connection, row.number, 'header', path) as TrialHeader,
    createdAt: row.created_at,
    lastLink: last?.link ?? 0,
    throughMicroseconds: last?.through_microseconds ?? 0,
    phase: phaseOf(connection, row.number, path),
    sealed: sealOf(connection, row.trial),
    voided: voidedIn(connection, row.trial, path),
  };
}

export function unfinishedTrials(connection: Connection, path: string): UnfinishedTrial[] {
  return allTrials(connection)
    .filter((row) => sealOf(connection, row.trial) === null)
    .map((row) => {
      const { trial, header, lastLink: link, throughMicroseconds, phase } = trialSummary(connection, row, path);
      const segments = segmentsOf(connection, row.number, path);
      const snapshot = lastEvent(connection, row.number, ['phase-changed', 'dwell-began'], path);
      return {
        trial,
        header,
        lastLink: link,
        throughMicroseconds,
        segments,
        phase,
        snapshot: snapshot as UnfinishedTrial['snapshot'],
      };
    });
}
