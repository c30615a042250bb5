import { randomBytes } from 'node:crypto';
import { z } from 'zod';
import { reviewSchema } from '../../leakage/review.ts';
import type { Review } from '../../leakage/review.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { makeIdentifier } from '../../model/identity.ts';
import type { Identifier } from '../../model/identity.ts';
import { methodSchema } from '../../model/method.ts';
import type { Method } from '../../model/method.ts';
import { followSignatures } from '../../model/signature.ts';
import type { Signature } from '../../model/signature.ts';
import { fileDamaged } from '../file-error.ts';
import { canonicalJson } from './canonical-json.ts';
import { assessmentDigest, frozenDigest } from './chain.ts';
import type { AssessmentCell, NewAssessment, StoredAssessment } from './contract.ts';
import { openForReading } from './database.ts';
import type { Connection } from './database.ts';
import { toHexadecimal } from './digest.ts';
import { signaturesIn } from './signature-rows.ts';
import { inForm, lastLink, parseStored, trialRow } from './trial-rows.ts';
import { writeAlone } from './write-alone.ts';

/** An assessment as it is kept: canonical JSON of exactly this. */
export interface AssessmentDocument {
  readonly assessment: Identifier;
  readonly trial: Identifier;
  readonly trialHead: string;
  readonly method: Method;
  readonly program: string;
  readonly createdAt: string;
  readonly cells: readonly AssessmentCell[];
  readonly details: unknown;
  /** Absent where nobody chose anything. */
  readonly review?: Review;
}

/** What every reader of a document relies on; the rest is what the program that made it had to say. */
const documentForm = z.object({
  assessment: z.string(),
  trial: z.string(),
  trialHead: z.string(),
  method: methodSchema,
  program: z.string(),
  createdAt: z.string(),
  cells: z.array(z.object({ exercise: z.string(), probe: z.string(), flags: z.array(z.string()) })),
  review: reviewSchema.optional(),
});

/**
 * Writes one assessment over an open connection; its own transaction. Sealed trials take new assessments.
 * The newest one is the one that counts, so what a reviewer decided is not put aside by one that nobody decided.
 * @throws ChambersideError `trial-not-found`; `action-refused` for one without a review after one with, and for a
 * reviewer's method whose name and version another method of the study has.
 */
export function insertAssessment(
  connection: Connection,
  path: string,
  entry: NewAssessment,
  now: string,
): StoredAssessment {
  const row = trialRow(connection, entry.trial, path);
  const newest = newestOf(connection, path, entry.trial);
  if (entry.review === undefined && newest?.review !== undefined) throw reviewed(newest, newest.review);
  const methodDigest = frozenDigest('method', canonicalJson(entry.method));
  if (entry.review !== undefined) refuseNamesake(connection, path, entry.method, methodDigest);
  const head = lastLink(connection, row.number)?.digest ?? new Uint8Array(0);
  const document: AssessmentDocument = {
    assessment: makeIdentifier('assessment', randomBytes(12)),
    trial: entry.trial,
    trialHead: toHexadecimal(head),
    method: entry.method,
    program: entry.program,
    createdAt: now,
    cells: entry.cells,
    details: entry.details ?? null,
    ...(entry.review === undefined ? {} : { review: entry.review }),
  };
  const json = canonicalJson(document);
  const digest = assessmentDigest(json);
  connection.transaction(() => {
    const { lastInsertRowid } = connection
      .prepare(
        `INSERT INTO assessment (assessment, trial, method_name, method_version, method_digest, trial_head, program,
           created_at, json, digest) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      )
      .run(
        document.assessment,
        entry.trial,
        entry.method.name,
        entry.method.version,
        methodDigest,
        head,
        entry.program,
        now,
        json,
        digest,
      );
    const insert = connection.prepare(
      `INSERT INTO cell (assessment, position, exercise, probe, dwell_position, window_percent, window_low_percent,
         window_high_percent, exercise_percent, flags) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    );
    for (const [position, cell] of entry.cells.entries()) {
      insert.run(
        lastInsertRowid,
        position,
        cell.exercise,
        cell.probe,
        cell.dwellPosition,
        cell.windowPercent,
        cell.windowLowPercent,
        cell.windowHighPercent,
        cell.exercisePercent,
        JSON.stringify(cell.flags),
      );
    }
  })();
  return {
    assessment: document.assessment,
    trial: entry.trial,
    methodName: entry.method.name,
    methodVersion: entry.method.version,
    methodDigest: toHexadecimal(methodDigest),
    trialHead: document.trialHead,
    digest: toHexadecimal(digest),
    program: entry.program,
    createdAt: now,
    cells: entry.cells,
  };
}

/** In a report a method is its name and version: no study holds two of them that differ. */
function refuseNamesake(connection: Connection, path: string, { name, version }: Method, digest: Uint8Array): void {
  const other = connection
    .prepare('SELECT 1 FROM assessment WHERE method_name = ? AND method_version = ? AND method_digest <> ? LIMIT 1')
    .get(name, version, digest);
  if (other === undefined) return;
  throw new ChambersideError(
    'action-refused',
    `Another method ${name} version ${version} has been used in this study: the two differ`,
    path,
    'Give the changed method a higher version or another name.',
  );
}

/**
 * Stores an assessment in a study that nobody records into. Every call makes a new record; none is replaced.
 * @throws ChambersideError `trial-not-found`, `study-in-use`, and those of opening a file.
 */
export function storeAssessment(
  path: string,
  entry: NewAssessment,
  now: string = new Date().toISOString(),
): StoredAssessment {
  return writeAlone(path, (connection) => insertAssessment(connection, path, entry, now));
}

interface AssessmentRow {
  readonly assessment: Identifier;
  readonly trial: Identifier;
  readonly method_name: string;
  readonly method_version: number;
  readonly method_digest: Uint8Array;
  readonly trial_head: Uint8Array;
  readonly program: string;
  readonly created_at: string;
  readonly digest: Uint8Array;
  readonly number: number;
}

interface CellRow {
  readonly exercise: string;
  readonly probe: string;
  readonly dwell_position: number | null;
  readonly window_percent: number | null;
  readonly window_low_percent: number | null;
  readonly window_high_percent: number | null;
  readonly exercise_percent: number | null;
  readonly flags: string;
}

/** All assessments in the order they were made, of one trial or of the study, from summary rows alone. */
export function listAssessments(path: string, trial?: string): StoredAssessment[] {
  const connection = openForReading('study', path);
  try {
    return assessmentsIn(connection, path, trial);
  } finally {
    connection.close();
  }
}

/** As `listAssessments`, over an open connection. @throws ChambersideError `file-damaged`. */
export function assessmentsIn(connection: Connection, path: string, trial?: string): StoredAssessment[] {
  const rows = connection
    .prepare<[string | null, string | null], AssessmentRow>(
      `SELECT number, assessment, trial, method_name, method_version, method_digest, trial_head, program, created_at,
         digest FROM assessment WHERE ? IS NULL OR trial = ? ORDER BY number`,
    )
    .all(trial ?? null, trial ?? null);
  const cells = connection.prepare<[number], CellRow>('SELECT * FROM cell WHERE assessment = ? ORDER BY position');
  return rows.map((row) => ({
    assessment: row.assessment,
    trial: row.trial,
    methodName: row.method_name,
    methodVersion: row.method_version,
    methodDigest: toHexadecimal(row.method_digest),
    trialHead: toHexadecimal(row.trial_head),
    digest: toHexadecimal(row.digest),
    program: row.program,
    createdAt: row.created_at,
    cells: cells.all(row.number).map((cell) => ({
      exercise: cell.exercise,
      probe: cell.probe,
      dwellPosition: cell.dwell_position,
      windowPercent: cell.window_percent,
      windowLowPercent: cell.window_low_percent,
      windowHighPercent: cell.window_high_percent,
      exercisePercent: cell.exercise_percent,
      flags: flagsOf(cell.flags, `the flags of assessment ${row.assessment}`, path),
    })),
  }));
}

function flagsOf(json: string, what: string, path: string): string[] {
  const flags = parseStored(json, what, path);
  if (Array.isArray(flags) && flags.every((flag) => typeof flag === 'string')) return flags;
  throw fileDamaged(`${what} are no list of words`, path);
}

/**
 * One assessment with whole cells, method and details; null when there is none of this identifier.
 */
export function readAssessment(path: string, assessment: string): AssessmentDocument | null {
  const connection = openForReading('study', path);
  try {
    const row = connection
      .prepare<[string], { json: string }>('SELECT json FROM assessment WHERE assessment = ?')
      .get(assessment);
    return row === undefined ? null : documentOf(row.json, path);
  } finally {
    connection.close();
  }
}

/** Every assessment of a trial, whole, in the order they were made. */
export function readAssessments(path: string, trial: string): AssessmentDocument[] {
  const connection = openForReading('study', path);
  try {
    return connection
      .prepare<[string], { json: string }>('SELECT json FROM assessment WHERE trial = ? ORDER BY number')
      .all(trial)
      .map(({ json }) => documentOf(json, path));
  } finally {
    connection.close();
  }
}

function documentOf(json: string, path: string): AssessmentDocument {
  const stored = parseStored(json, 'the assessment', path);
  return inForm(documentForm, stored, 'the assessment', path) as AssessmentDocument;
}

function newestOf(connection: Connection, path: string, trial: string): AssessmentDocument | null {
  const row = connection
    .prepare<[string], { json: string }>('SELECT json FROM assessment WHERE trial = ? ORDER BY number DESC LIMIT 1')
    .get(trial);
  return row === undefined ? null : documentOf(row.json, path);
}

function reviewed({ assessment, trial }: AssessmentDocument, { person, reason }: Review): ChambersideError {
  return new ChambersideError(
    'action-refused',
    `The newest assessment of the trial, ${assessment}, was made by the reviewer ${person} (${reason})`,
    trial,
    'What a reviewer decided is replaced by a reviewer only: say who you are, and why.',
  );
}

/**
 * The assessment that is the trial's result, whole: the released one, else the one that was made last. Null: there is
 * none. @throws ChambersideError `file-damaged`, also where the released one is not there.
 */
export function countingAssessment(path: string, trial: string): AssessmentDocument | null {
  // By the summary rows, as every list: damage in them is said, not passed over.
  const newest = listAssessments(path, trial).at(-1)?.assessment;
  const wanted = releaseOf(path, trial)?.assessment ?? newest;
  const found = wanted === undefined ? null : readAssessment(path, wanted);
  if (found === null && wanted !== undefined) throw fileDamaged(`Assessment ${wanted} of ${trial} is not there`, path);
  return found;
}

/** The release of a trial that stands; null where none does. @throws ChambersideError `file-damaged`. */
export function releaseOf(path: string, trial: string): Signature | null {
  const connection = openForReading('study', path);
  try {
    return followSignatures(signaturesIn(connection, path, trial).map(({ signature }) => signature)).released;
  } finally {
    connection.close();
  }
}
