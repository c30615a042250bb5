import { copyFileSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { listAssessments, storeAssessment } from '../../src/host/store/assessments.ts';
import type { FindingCode } from '../../src/host/store/contract.ts';
import { expectedSchema } from '../../src/host/store/database.ts';
import { storeSignature } from '../../src/host/store/signatures.ts';
import { storeVoiding } from '../../src/host/store/voidings.ts';
import { verify } from '../../src/host/store/verify.ts';
import { alter, flipped, makeStudy } from '../support/store/altered-study.ts';
import { method, temporaryFolder, trialName } from '../support/store/trial.ts';

/** Each test alters a copy. */
const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');
const path = join(folder.path, 'altered.chamberside');

beforeAll(async () => {
  await makeStudy(original);
  for (const number of [2, 3]) {
    const [cell] = listAssessments(original)[0]?.cells ?? [];
    if (cell === undefined) throw new Error('the study holds no assessment');
    const flags = ['gap'];
    const cells = [cell, { ...cell, probe: 'hood', dwellPosition: null, windowLowPercent: null, flags }];
    storeAssessment(original, { trial: trialName(number), method, program: '0.1.0', details: null, cells });
  }
  const decided = { person: 'rita', reason: 'the hose had come off', program: '0.1.0' };
  for (const [index, decision] of (['void', 'withdrawn', 'void'] as const).entries()) {
    storeVoiding(original, { trial: trialName(2), decision, ...decided }, `2026-01-06T08:0${index}:00.000Z`);
  }
  const signed = { reason: 'as agreed', program: '0.1.0', keyFile: join(folder.path, 'none.pem') };
  for (const number of [1, 3]) {
    const trial = trialName(number);
    const assessment = listAssessments(original, trial).at(-1)?.assessment ?? '';
    for (const [step, person] of [['assessed', 'anna'], ['reviewed', 'rita'], ['released', 'rita']] as const) {
      storeSignature(original, { ...signed, trial, assessment, step, person }, '2026-01-06T09:00:00.000Z');
    }
  }
  // What a host leaves that was killed: the only row of the lease.
  alter(original, (file) => file.exec("INSERT INTO lease VALUES (1, 'h-1', 'machine', 7, '2026-01-05T08:00:00.000Z')"));
});
afterAll(() => folder.remove());
beforeEach(() => copyFileSync(original, path));

interface Column {
  readonly name: string;
  readonly type: 'INTEGER' | 'REAL' | 'TEXT' | 'BLOB';
}

/** Tables and columns as a new file has them, so that a table that comes later is walked without being named here. */
function schema(): Map<string, Column[]> {
  const empty = new Database(':memory:');
  for (const line of expectedSchema('study')) {
    const sql = line.replace(/^\w+ \w+ /, '');
    if (line.startsWith('table ')) empty.exec(sql);
  }
  const tables = empty.prepare<[], { name: string }>("SELECT name FROM sqlite_master WHERE type = 'table'").all();
  const found = new Map(tables.map(({ name }) => [name, empty.pragma(`table_info(${name})`) as Column[]]));
  empty.close();
  return found;
}

const tables = schema();
const columns = [...tables].flatMap(([table, entries]) => entries.map((column) => [table, column.name] as const));

/** `table.column` in the section of the format that says what is not covered; `table.*` stands for every column. */
function documentedAsNotCovered(): Set<string> {
  const text = readFileSync(new URL('../../docs/formats/study-file.md', import.meta.url), 'utf8');
  const section = /^## What verify does not cover$(.*?)^## /ms.exec(text)?.[1] ?? '';
  const named = [...section.matchAll(/^\| `(\w+)\.(\w+|\*)` \| \S/gm)].map((row) => [row[1], row[2]] as const);
  return new Set(
    named.flatMap(([table = '', column = '']) =>
      column === '*' ? (tables.get(table) ?? []).map(({ name }) => `${table}.${name}`) : [`${table}.${column}`],
    ),
  );
}

const notCovered = documentedAsNotCovered();

/** What a finding about a table is called. A wrong owner or a broken rule of the schema can be told of any of them. */
const codes: Record<string, RegExp> = {
  study: /^(study|seal|signature)-/,
  trial: /^(trial|link)-|^tail-cut$/,
  frozen: /^frozen-/,
  link: /^(link|chain|time|chunk|wire|event)-|^tail-cut$|^head-differs$/,
  chunk: /^chunk-/,
  wire: /^wire-/,
  event: /^event-/,
  seal: /^(seal|trial|study)-|^head-differs$|^tail-cut$/,
  assessment: /^assessment-/,
  cell: /^assessment-/,
  voiding: /^voiding-|^trial-missing$/,
  signature: /^signature-|^trial-missing$/,
};

function badCodes(): FindingCode[] {
  return verify(path)
    .findings.filter((finding) => finding.severity === 'bad')
    .map((finding) => finding.code);
}

function names(table: string, found: readonly FindingCode[]): boolean {
  const own = codes[table] ?? /^$/;
  return found.some((code) => own.test(code) || code === 'row-stray' || code === 'database-damaged');
}

/** First, middle and last row, by the order in which they were written; once each. */
function someRows(table: string): number[] {
  const file = new Database(path, { readonly: true });
  const rows = file.prepare<[], { id: number }>(`SELECT rowid AS id FROM ${table} ORDER BY rowid`).all();
  file.close();
  const places = [0, rows.length >> 1, rows.length - 1];
  return [...new Set(places.map((place) => rows[place]?.id ?? -1))];
}

/** Values that a column of this type could have instead, nearest first: a unique one may be taken already. */
function others(value: unknown, type: Column['type']): unknown[] {
  if (value === null) return [type === 'REAL' ? 0.5 : 1];
  if (typeof value === 'number') return type === 'REAL' ? [value * 1.001 + 1e-6] : [value + 1, value + 4711];
  if (typeof value === 'string') return [`${value} `, `${value}x`];
  return [flipped(value as Buffer, 11)];
}

/** Alters one value as somebody would who can switch off what the schema demands. */
function change(table: string, column: string, row: number): void {
  const type = tables.get(table)?.find((entry) => entry.name === column)?.type ?? 'TEXT';
  alter(path, (file) => {
    file.pragma('ignore_check_constraints = ON');
    const before = file.prepare(`SELECT ${column} AS value FROM ${table} WHERE rowid = ?`).get(row) as {
      value: unknown;
    };
    for (const value of others(before.value, type)) {
      try {
        file.prepare(`UPDATE ${table} SET ${column} = ? WHERE rowid = ?`).run(value, row);
        return;
      } catch (error) {
        if (!String(error).includes('UNIQUE')) throw error;
      }
    }
    throw new Error(`${table}.${column} takes no other value`);
  });
}

describe('every column of a sealed study', () => {
  it('is walked: the study has every table with rows in it', () => {
    expect(columns.length).toBeGreaterThan(60);
    for (const table of tables.keys()) expect(someRows(table).every((row) => row >= 0)).toBe(true);
    expect(verify(path).intact).toBe(true);
  });

  it.each(columns)('%s.%s: an altered value is named, or the format says that it is not covered', (table, column) => {
    for (const row of someRows(table)) {
      copyFileSync(original, path);
      change(table, column, row);
      const found = badCodes();
      if (notCovered.has(`${table}.${column}`)) expect(found, `row ${row}`).toEqual([]);
      else expect(names(table, found), `row ${row}: ${found.join()}`).toBe(true);
    }
  });

  it('has no other exceptions in the format than columns that there are', () => {
    const known = new Set(columns.map(([table, column]) => `${table}.${column}`));
    expect([...notCovered].filter((name) => !known.has(name))).toEqual([]);
    expect(notCovered.size).toBeLessThan(10);
  });
});

describe('every table of a sealed study', () => {
  const covered = [...tables.keys()].filter((table) => table !== 'lease');

  it.each(covered)('%s: a row that is gone is named', (table) => {
    for (const row of someRows(table)) {
      copyFileSync(original, path);
      alter(path, (file) => file.exec(`DELETE FROM ${table} WHERE rowid = ${row}`));
      const found = badCodes();
      expect(names(table, found), `row ${row}: ${found.join()}`).toBe(true);
    }
  });

  it.each(covered)('%s: a row too many is named', (table) => {
    const all = tables.get(table)?.map(({ name }) => name) ?? [];
    for (const row of someRows(table)) {
      copyFileSync(original, path);
      alter(path, (file) => {
        file.pragma('ignore_check_constraints = ON');
        const copy = file.prepare(`SELECT * FROM ${table} WHERE rowid = ?`).get(row) as Record<string, unknown>;
        const keys = uniqueColumns(file, table);
        for (const key of keys)
          copy[key] = others(copy[key], typeof copy[key] === 'number' ? 'INTEGER' : 'TEXT').at(-1);
        file
          .prepare(`INSERT INTO ${table} (${all.join()}) VALUES (${all.map(() => '?').join()})`)
          .run(...all.map((name) => copy[name]));
      });
      const found = badCodes();
      expect(names(table, found), `row ${row}: ${found.join()}`).toBe(true);
    }
  });

  it.each(['frozen', 'link', 'chunk', 'wire', 'event'])('%s: a row of a trial that is not there is named', (table) => {
    const all = tables.get(table)?.map(({ name }) => name) ?? [];
    const values = all.map((name) => (name === 'trial' ? '77' : name));
    alter(path, (file) =>
      file.exec(`INSERT INTO ${table} (${all.join()}) SELECT ${values.join()} FROM ${table} WHERE trial = 1 LIMIT 1`),
    );
    expect(badCodes()).toContain('row-stray');
  });
});

/** The last column of each unique key and the primary key: other values there make another row. */
function uniqueColumns(file: Database.Database, table: string): string[] {
  const primary = (file.pragma(`table_info(${table})`) as { name: string; pk: number }[]).filter(({ pk }) => pk > 0);
  const indexes = (file.pragma(`index_list(${table})`) as { name: string; unique: number }[]).filter(
    ({ unique }) => unique === 1,
  );
  const last = indexes.map(({ name }) => (file.pragma(`index_info(${name})`) as { name: string }[]).at(-1)?.name ?? '');
  return [...new Set([...primary.map(({ name }) => name), ...last])];
}

describe('what used to slip through', () => {
  it('a frozen part that the trial did not begin with', () => {
    alter(path, (file) =>
      file.exec("INSERT INTO frozen SELECT trial, 'extra', json, digest FROM frozen WHERE trial = 2 AND part = 'rig'"),
    );
    expect(verify(path).findings).toContainEqual(
      expect.objectContaining({ code: 'frozen-added', trial: trialName(2), link: 0 }),
    );
  });

  it('the position of a cell', () => {
    alter(path, (file) => file.exec('UPDATE cell SET position = 5 WHERE assessment = 1'));
    expect(verify(path).findings).toContainEqual(
      expect.objectContaining({
        code: 'assessment-altered',
        text: expect.stringContaining('position of cell 1') as string,
      }),
    );
  });

  it('an assessment before the last, with its cells', () => {
    alter(path, (file) => file.exec('DELETE FROM cell WHERE assessment = 2; DELETE FROM assessment WHERE number = 2'));
    expect(badCodes()).toEqual(['assessment-missing']);
  });

  it('a trial without any link', () => {
    alter(path, (file) => file.exec(`INSERT INTO trial VALUES (5, '${trialName(5)}', '2026-01-05T08:00:00.000Z')`));
    expect(verify(path).findings).toContainEqual(
      expect.objectContaining({ severity: 'bad', code: 'link-missing', trial: trialName(5), link: 0 }),
    );
  });
});
