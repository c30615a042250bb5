import { z } from 'zod';
import { checkDefinitions } from '../../calibration/check/definitions.ts';
import { checkRecordSchema } from '../../calibration/check/step.ts';
import type { CheckRecord } from '../../calibration/check/step.ts';
import { checkResultSchema, figure } from '../../calibration/check/vocabulary.ts';
import type { CheckKind, CheckResult } from '../../calibration/check/vocabulary.ts';
import type { KeptCheck } from '../../calibration/check/standing.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { rigSchema } from '../../model/rig.ts';
import type { Rig } from '../../model/rig.ts';
import { canonicalJson } from './canonical-json.ts';
import { frozenDigest } from './chain.ts';
import { storageError } from './database.ts';
import type { Connection } from './database.ts';
import { equalBytes } from './digest.ts';

/** A check of a rig, as the laboratory keeps it. */
export interface KnownCheck extends KeptCheck {
  /** Name of the rig. */
  readonly rig: string;
}

/** What a check was judged on: all that it recorded, and the rig as it was. */
export interface CheckGround {
  readonly rig: Rig;
  readonly record: CheckRecord;
}

const groundSchema = z.object({ rig: rigSchema, record: checkRecordSchema });

/** Results of checks up to version 2 of the file: zero and span, by their mean only. */
const earlierResultSchema = z.object({
  check: z.enum(['zero', 'span']),
  at: z.string(),
  person: z.string(),
  meanReading: z.number(),
  deviationReading: z.number(),
  readings: z.number().int(),
  lowLimit: z.number(),
  highLimit: z.number(),
  passed: z.boolean(),
  detail: z.string(),
});

interface CheckRow {
  readonly number: number;
  readonly rig: string;
  readonly rig_version: number;
  readonly json: string;
}

/** Checks in the laboratory file: kept for good, and never changed. */
export class LaboratoryChecks {
  readonly #connection: Connection;
  readonly #path: string;
  readonly #now: () => string;

  constructor(connection: Connection, path: string, now: () => string) {
    this.#connection = connection;
    this.#path = path;
    this.#now = now;
  }

  /** Keeps a result with what it rests on. @returns its number. @throws ChambersideError `usage-bad-value`. */
  add(result: CheckResult, ground: CheckGround): number {
    const json = canonicalJson(checked(checkResultSchema, result));
    const whole = canonicalJson(checked(groundSchema, ground));
    const { name, version } = ground.rig;
    try {
      return this.#connection.transaction(() => {
        const { lastInsertRowid } = this.#connection
          .prepare('INSERT INTO rig_check (rig, rig_version, json, created_at) VALUES (?, ?, ?, ?)')
          .run(name, version, json, this.#now());
        this.#connection
          .prepare('INSERT INTO rig_check_record (rig_check, json, digest) VALUES (?, ?, ?)')
          .run(lastInsertRowid, whole, frozenDigest('rig-check', whole));
        return Number(lastInsertRowid);
      })();
    } catch (error) {
      throw storageError(error, this.#path);
    }
  }

  /** Newest of each check and port of every rig, whatever its version; ascending by number. */
  newest(): KnownCheck[] {
    return this.#connection
      .prepare<[], CheckRow>(
        `SELECT number, rig, rig_version, json FROM rig_check WHERE number IN (
           SELECT max(number) FROM rig_check
           GROUP BY rig, json_extract(json, '$.check'), json_extract(json, '$.subject')) ORDER BY number`,
      )
      .all()
      .map(toCheck);
  }

  /** The last ones of a check of a rig, newest first. @param most how many. */
  history(rig: string, check: CheckKind, subject: string | null, most: number): KnownCheck[] {
    return this.#rows(rig, check, subject, most).map(toCheck);
  }

  #rows(rig: string, check: CheckKind, subject: string | null, most: number): CheckRow[] {
    return this.#connection
      .prepare<[string, string, string | null, number], CheckRow>(
        `SELECT number, rig, rig_version, json FROM rig_check WHERE rig = ?
           AND json_extract(json, '$.check') = ? AND json_extract(json, '$.subject') IS ?
         ORDER BY number DESC LIMIT ?`,
      )
      .all(rig, check, subject, most);
  }

  /** As `history`; rows that cannot be read are left out, and their numbers given. */
  course(
    rig: string,
    check: CheckKind,
    subject: string | null,
    most: number,
  ): { readonly checks: KnownCheck[]; readonly unreadable: number[] } {
    const checks: KnownCheck[] = [];
    const unreadable: number[] = [];
    for (const row of this.#rows(rig, check, subject, most)) {
      try {
        checks.push(toCheck(row));
      } catch {
        unreadable.push(row.number);
      }
    }
    return { checks, unreadable };
  }

  /**
   * What a check was judged on; null for one from before that was kept.
   * @throws ChambersideError `check-not-found`; `record-insufficient` when it is not what was stored.
   */
  ground(number: number): CheckGround | null {
    const known = this.#connection.prepare<[number], CheckRow>('SELECT * FROM rig_check WHERE number = ?').get(number);
    if (known === undefined) {
      throw new ChambersideError('check-not-found', 'There is no such check', `${number}`, 'Choose one of the list.');
    }
    const row = this.#connection
      .prepare<[number], { json: string; digest: Uint8Array }>(
        'SELECT json, digest FROM rig_check_record WHERE rig_check = ?',
      )
      .get(number);
    if (row === undefined) return null;
    const parsed = equalBytes(frozenDigest('rig-check', row.json), row.digest)
      ? groundSchema.safeParse(JSON.parse(row.json))
      : null;
    if (parsed?.success === true) return parsed.data;
    throw new ChambersideError(
      'record-insufficient',
      'What the check recorded is not what was stored',
      `${this.#path}, check ${number}`,
      'Take the laboratory file from a copy, or make the check again.',
    );
  }
}

function toCheck({ json, number, rig, rig_version: version }: CheckRow): KnownCheck {
  const result = readResult(JSON.parse(json));
  return { number, rig, version, madeAtMilliseconds: Date.parse(result.at), result };
}

function readResult(stored: unknown): CheckResult {
  const earlier = earlierResultSchema.safeParse(stored);
  if (!earlier.success) return checkResultSchema.parse(stored);
  const { check, at, person, passed, detail, ...reading } = earlier.data;
  const limits = { low: reading.lowLimit, high: reading.highLimit };
  const doubt = reading.readings > 0 ? reading.deviationReading / Math.sqrt(reading.readings) : null;
  return {
    check,
    subject: null,
    condition: 'routine',
    at,
    person,
    passed,
    detail,
    figures: [
      figure('mean', reading.meanReading, null, limits, doubt),
      figure('deviation', reading.deviationReading, null),
    ],
    validDays: checkDefinitions[check].validDays,
  };
}

function checked<Value>(schema: z.ZodType<Value>, value: unknown): Value {
  const parsed = schema.safeParse(value);
  if (parsed.success) return parsed.data;
  throw new ChambersideError('usage-bad-value', z.prettifyError(parsed.error), 'check of a rig', 'Report this.');
}
