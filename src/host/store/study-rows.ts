import { castsDoubt, type Flag } from '../../leakage/flag.ts';
import { type Review, reviewSchema } from '../../leakage/review.ts';
import { doubtfulSupports } from '../../model/doubtful-supports.ts';
import { probePorts, type Rig } from '../../model/rig.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import type { StudyTrial } from '../../study/study-trial.ts';
import { fileDamaged } from '../file-error.ts';
import type { StudyIdentity } from './contract.ts';
import { type Connection, openForReading, storageError } from './database.ts';
import { countingAssessments, releasesIn } from './signature-rows.ts';
import { allTrials, frozenPart, inForm, parseStored, sealOf, studyIdentity, voidedIn } from './trial-rows.ts';

/** A study for its statistics: of one moment, from summary rows, without touching raw data. */
export interface StudyRows {
  readonly study: StudyIdentity;
  /** In the order in which they were begun; each with the assessment that counts: the released one, else the newest. */
  readonly trials: readonly StudyTrial[];
  /** Names of probes as the rig of the newest trial has them, in its order. */
  readonly probes: readonly { readonly probe: string; readonly label: string }[];
  /** Methods by which trials hold an assessment, in the order of first use; how many trials do. */
  readonly methods: readonly { readonly method: string; readonly trials: number }[];
}

interface AssessmentRow {
  readonly number: number;
  readonly assessment: string;
  readonly trial: string;
  readonly method_name: string;
  readonly method_version: number;
  /** JSON; null where nobody chose anything. */
  readonly review: string | null;
}

interface CellRow {
  readonly position: number;
  readonly exercise: string;
  readonly probe: string;
  readonly window_percent: number | null;
  readonly flags: string;
}

/**
 * @param method as `StudyRows.methods` has it: trials that hold an assessment by it are read by the newest such one,
 *   also where another one counts; null: as they count.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`, `file-damaged`.
 */
export function readStudyRows(path: string, method: string | null = null): StudyRows {
  const connection = openForReading('study', path);
  try {
    return connection.transaction(() => studyRows(connection, path, method))();
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}

/** The same as trials count and by a method, both of one moment. @throws as `readStudyRows`. */
export function readStudyRowsBeside(
  path: string,
  method: string | null,
): { readonly standing: StudyRows; readonly otherwise: StudyRows } {
  const connection = openForReading('study', path);
  try {
    return connection.transaction(() => {
      const standing = studyRows(connection, path, null);
      return { standing, otherwise: method === null ? standing : studyRows(connection, path, method) };
    })();
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}

function studyRows(connection: Connection, path: string, method: string | null): StudyRows {
  const releases = releasesIn(connection, path);
  const numbers = countingAssessments(connection, path, releases);
  if (method !== null) for (const [trial, number] of newestBy(connection, method, numbers)) numbers.set(trial, number);
  const counting = new Map(
    connection
      .prepare<[string], AssessmentRow>(
        // An assessment is long, and few have a review: only those that hold the word are taken apart for it.
        `SELECT number, assessment, trial, method_name, method_version,
           CASE WHEN instr(json, '"review"') > 0 THEN json_extract(json, '$.review') END AS review
         FROM assessment WHERE number IN (SELECT value FROM json_each(?))`,
      )
      .all(JSON.stringify([...numbers.values()]))
      .map((row) => [row.trial, row]),
  );
  const cells = connection.prepare<[number], CellRow>(
    'SELECT position, exercise, probe, window_percent, flags FROM cell WHERE assessment = ? ORDER BY position',
  );
  // Detection limits stand in the whole assessment only; SQLite finds them without building it.
  const limits = connection.prepare<[number], { position: number; detection: unknown }>(
    `SELECT cell.key AS position, json_extract(cell.value, '$.detectionLimitPercent') AS detection
     FROM assessment, json_each(assessment.json, '$.cells') AS cell WHERE assessment.number = ?`,
  );
  const rows = allTrials(connection);
  const trials = rows.map((row): StudyTrial => {
    const header = frozenPart(connection, row.number, 'header', path) as TrialHeader;
    const assessment = counting.get(row.trial);
    return {
      trial: row.trial,
      subject: header.subject,
      ensemble: header.ensemble,
      virtual: header.virtual,
      createdAt: row.created_at,
      sealed: sealOf(connection, row.trial) !== null,
      voided: voidingOf(row.trial),
      ...releaseIn(row.trial, assessment?.assessment),
      ...(header.repeats == null || header.repeats.from === null ? {} : { continues: header.repeats.trial }),
      requirementPercent: header.requirementPercent ?? null,
      method: assessment === undefined ? null : methodLabel(assessment),
      review: assessment === undefined ? null : reviewOf(assessment),
      doubtfulChecks: doubtfulSupports(header),
      cells: assessment === undefined ? null : cellsOf(assessment),
    };
  });
  const last = rows.at(-1);
  const rig = last === undefined ? null : (frozenPart(connection, last.number, 'rig', path) as Rig);
  return {
    study: studyIdentity(connection, path),
    trials,
    probes: rig === null ? [] : probePorts(rig).map(({ probe, label }) => ({ probe, label })),
    methods: methodsIn(connection),
  };

  function voidingOf(trial: string): StudyTrial['voided'] {
    const voiding = voidedIn(connection, trial, path);
    return voiding === null ? null : { person: voiding.person, reason: voiding.reason };
  }

  /** Only where what is read is what was released. */
  function releaseIn(trial: string, assessment: string | undefined): Pick<StudyTrial, 'released'> {
    const release = releases.get(trial);
    if (release === undefined || release.assessment !== assessment) return {};
    return { released: { person: release.person, at: release.createdAt } };
  }

  function reviewOf({ assessment, review }: AssessmentRow): StudyTrial['review'] {
    if (review === null) return null;
    const what = `the review of assessment ${assessment}`;
    const { person, leftOut } = inForm(reviewSchema, parseStored(review, what, path), what, path) as Review;
    return { person, leftOut: leftOut.length };
  }

  function cellsOf({ number, assessment }: AssessmentRow): NonNullable<StudyTrial['cells']> {
    const known = new Map(limits.all(number).map(({ position, detection }) => [position, detection]));
    const what = `the flags of assessment ${assessment}`;
    return cells.all(number).map((cell) => {
      const flags = parseStored(cell.flags, what, path);
      if (!Array.isArray(flags) || !flags.every((flag) => typeof flag === 'string')) {
        throw fileDamaged(`${what} are no list of words`, path);
      }
      const limit = known.get(cell.position);
      return {
        exercise: cell.exercise,
        probe: cell.probe,
        percent: cell.window_percent,
        limitPercent: typeof limit === 'number' && limit > 0 ? limit : null,
        // A flag that this version does not know is a doubt as well.
        flagged: castsDoubt(flags as Flag[]),
      };
    });
  }
}

const methodColumns = "method_name || ', version ' || method_version";

function methodLabel(row: Pick<AssessmentRow, 'method_name' | 'method_version'>): string {
  return `${row.method_name}, version ${row.method_version}`;
}

function methodsIn(connection: Connection): StudyRows['methods'] {
  const sql =
    `SELECT ${methodColumns} AS method, count(DISTINCT trial) AS trials FROM assessment ` +
    'GROUP BY method_name, method_version ORDER BY min(number)';
  return connection.prepare<[], { method: string; trials: number }>(sql).all();
}

/** Numbers of the newest assessments by a method, of trials that do not count by one of it already. */
function newestBy(
  connection: Connection,
  method: string,
  counting: ReadonlyMap<string, number>,
): (readonly [trial: string, number: number])[] {
  const own = connection
    .prepare<[string], { trial: string; number: number }>(
      `SELECT trial, number FROM assessment WHERE ${methodColumns} = ? ORDER BY number`,
    )
    .all(method);
  const standing = new Set(own.filter(({ trial, number }) => counting.get(trial) === number).map(({ trial }) => trial));
  return own.filter(({ trial }) => !standing.has(trial)).map(({ trial, number }) => [trial, number]);
}
