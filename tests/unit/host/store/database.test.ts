import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import {
  applicationIds,
  closeCleanly,
  createDatabase,
  currentVersion,
  expectedSchema,
  openForReading,
  openForWriting,
  schemaOf,
} from '../../../../src/host/store/database.ts';
import type { FileKind } from '../../../../src/host/store/database.ts';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { listAssessments, readAssessment } from '../../../../src/host/store/assessments.ts';
import { listTrials, readTrial, readWire } from '../../../../src/host/store/read.ts';
import { verify } from '../../../../src/host/store/verify.ts';
import { method, rig, temporaryFolder, trialName, valueAt } from '../../../support/store/trial.ts';

const kept = (name: string): string => new URL(`../../../../fixtures/databases/${name}`, import.meta.url).pathname;
const kinds: FileKind[] = ['study', 'laboratory'];

let folder = temporaryFolder();
beforeEach(() => {
  folder = temporaryFolder();
});
afterEach(() => folder.remove());

describe.each(kinds)('a %s file', (kind) => {
  it('is created complete, marked, and with every table STRICT', () => {
    const path = join(folder.path, 'file');
    createDatabase(kind, path);
    const plain = new Database(path, { readonly: true });
    expect(plain.pragma('application_id', { simple: true })).toBe(applicationIds[kind]);
    expect(plain.pragma('user_version', { simple: true })).toBe(currentVersion(kind));
    const tables = plain.pragma('table_list') as { schema: string; name: string; strict: number }[];
    const loose = tables.filter(
      (table) => table.schema === 'main' && !table.name.startsWith('sqlite_') && table.strict !== 1,
    );
    expect(loose).toEqual([]);
    expect(schemaOf(plain)).toEqual(expectedSchema(kind));
    plain.close();
    expect(readdirSync(folder.path)).toEqual(['file']);
    expect(() => createDatabase(kind, path)).toThrow(expect.objectContaining({ code: 'file-exists' }));
  });

  it('is not made in a folder that is not there, and the folder is not made either', () => {
    const path = join(folder.path, 'deep/er/file');
    expect(() => createDatabase(kind, path)).toThrow(
      expect.objectContaining({ code: 'file-not-found', where: join(folder.path, 'deep/er') }),
    );
    expect(readdirSync(folder.path)).toEqual([]);
  });

  it('leaves nothing behind when its creation fails', () => {
    const path = join(folder.path, 'file');
    expect(() =>
      createDatabase(kind, path, () => {
        throw new Error('no');
      }),
    ).toThrow(expect.objectContaining({ code: 'commit-failed' }));
    expect(readdirSync(folder.path)).toEqual([]);
  });

  it('is written through a log with full synchronisation at every opening, and closes into one plain file', () => {
    const path = join(folder.path, 'file');
    createDatabase(kind, path);
    for (let opening = 0; opening < 3; opening += 1) {
      const connection = openForWriting(kind, path);
      expect(connection.pragma('journal_mode', { simple: true })).toBe('wal');
      expect(connection.pragma('synchronous', { simple: true })).toBe(2);
      expect(connection.pragma('busy_timeout', { simple: true })).toBe(5000);
      expect(connection.pragma('foreign_keys', { simple: true })).toBe(1);
      // The second opening finds the file in write-ahead mode, where the default would be NORMAL.
      if (opening === 0) connection.close();
      else closeCleanly(connection);
    }
    expect(readdirSync(folder.path)).toEqual(['file']);
    const plain = new Database(path, { readonly: true });
    expect(plain.pragma('journal_mode', { simple: true })).toBe('delete');
    plain.close();
  });

  it('stays in its log while somebody reads', () => {
    const path = join(folder.path, 'file');
    createDatabase(kind, path);
    const writing = openForWriting(kind, path);
    const reader = openForReading(kind, path);
    reader.exec('BEGIN');
    reader.prepare('SELECT count(*) FROM sqlite_master').get();
    closeCleanly(writing);
    expect(existsSync(`${path}-wal`)).toBe(true);
    reader.close();
    closeCleanly(openForWriting(kind, path));
    expect(readdirSync(folder.path)).toEqual(['file']);
  });

  it('is refused when it is foreign, of the other kind, empty, missing or newer, and is not touched', () => {
    const path = join(folder.path, 'file');
    const contents = (): string => createHash('sha256').update(readFileSync(path)).digest('hex');
    const refused = (code: string): void => {
      const before = contents();
      for (const open of [openForWriting, openForReading]) {
        expect(() => open(kind, path)).toThrow(expect.objectContaining({ code }));
      }
      expect(contents()).toBe(before);
    };
    expect(() => openForWriting(kind, path)).toThrow(expect.objectContaining({ code: 'file-not-found' }));
    expect(() => openForReading(kind, path)).toThrow(expect.objectContaining({ code: 'file-not-found' }));
    for (const text of ['', 'hello', 'x'.repeat(5000)]) {
      writeFileSync(path, text);
      refused('file-not-ours');
    }
    writeFileSync(path, `SQLite format 3\0${'x'.repeat(5000)}`);
    refused('file-not-ours');
    writeFileSync(path, '');
    const other = new Database(path);
    other.exec('CREATE TABLE something (a)');
    other.close();
    refused('file-not-ours');
    copyFileSync(kept(kind === 'study' ? 'laboratory-1.sqlite' : 'study-1.sqlite'), path);
    refused('file-not-ours');
    copyFileSync(kept(`${kind}-1.sqlite`), path);
    const newer = new Database(path);
    newer.pragma(`user_version = ${currentVersion(kind) + 1}`);
    newer.close();
    refused('file-newer');
  });
});

describe('files of earlier versions', () => {
  it('study version 1 opens for writing, reads and verifies', () => {
    const path = join(folder.path, 'study');
    copyFileSync(kept('study-1.sqlite'), path);
    const connection = openForWriting('study', path);
    expect(connection.pragma('user_version', { simple: true })).toBe(currentVersion('study'));
    expect(schemaOf(connection)).toEqual(expectedSchema('study'));
    closeCleanly(connection);
    expect(verify(path)).toMatchObject({
      intact: true,
      study: { name: 'kept study' },
      trials: [
        { trial: trialName(1), sealed: true, links: 13 },
        { trial: trialName(2), sealed: false, links: 13 },
      ],
    });
    const record = readTrial(path, trialName(1));
    expect(record.streams.map((stream) => stream.values.length)).toEqual([240, 120]);
    expect(record.streams[0]?.values[7]).toBe(valueAt(0, 350_137));
    expect(readWire(path, trialName(1)).length).toBe(246);
    expect(listTrials(path).map((trial) => trial.sealed?.seal ?? null)).toEqual([1, null]);
    const [assessment] = listAssessments(path);
    expect(assessment).toMatchObject({
      trial: trialName(1),
      methodName: 'first method',
      cells: [{ probe: 'ankle', windowPercent: 0.25, exercisePercent: null }],
    });
    expect(readAssessment(path, assessment?.assessment ?? '')).toMatchObject({ details: { note: 'kept' }, method });
  });

  it('laboratory version 1 opens, and its people and documents are there', async () => {
    const path = join(folder.path, 'laboratory');
    copyFileSync(kept('laboratory-1.sqlite'), path);
    const laboratory = openLaboratory(path);
    expect(await laboratory.verifyPin('anna', '482915')).toMatchObject({
      name: 'Anna',
      roles: ['operator', 'reviewer'],
    });
    expect(laboratory.get('rig', rig.name)?.content).toEqual(rig);
    expect(laboratory.listConnections()).toEqual([]);
    expect(laboratory.checks.newest()).toEqual([]);
    laboratory.close();
    const connection = openForReading('laboratory', path);
    expect(connection.pragma('user_version', { simple: true })).toBe(currentVersion('laboratory'));
    expect(schemaOf(connection)).toEqual(expectedSchema('laboratory'));
    connection.close();
  });

  it('laboratory version 2 opens, and its checks are read as they were', () => {
    const path = join(folder.path, 'laboratory');
    copyFileSync(kept('laboratory-2.sqlite'), path);
    const laboratory = openLaboratory(path);
    expect(laboratory.listConnections()).toMatchObject([{ instrument: 'photometer', rig: rig.name }]);
    const [zero, span] = laboratory.checks.newest();
    expect(zero).toMatchObject({ number: 1, rig: rig.name, version: rig.version });
    expect(zero?.result).toMatchObject({ check: 'zero', subject: null, person: 'anna', passed: true, validDays: 1 });
    expect(zero?.result.figures).toMatchObject([
      { figure: 'mean', value: 0.02, unit: null, low: -0.12, high: 0.12, passed: true },
      { figure: 'deviation', value: 0.001 },
    ]);
    // 200 readings with a deviation of 0.001.
    expect(zero?.result.figures[0]?.standardUncertainty).toBeCloseTo(0.001 / Math.sqrt(200), 12);
    expect(span?.result.figures[0]?.value).toBe(11.9);
    expect(laboratory.checks.ground(1)).toBeNull();
    laboratory.close();
    const connection = openForReading('laboratory', path);
    expect(connection.pragma('user_version', { simple: true })).toBe(currentVersion('laboratory'));
    expect(schemaOf(connection)).toEqual(expectedSchema('laboratory'));
    connection.close();
  });

  it('laboratory version 3 opens, with its checks and an empty register', () => {
    const path = join(folder.path, 'laboratory');
    copyFileSync(kept('laboratory-3.sqlite'), path);
    const laboratory = openLaboratory(path);
    expect(laboratory.checks.newest()).toMatchObject([{ number: 1, rig: rig.name, result: { detail: 'kept' } }]);
    expect(laboratory.checks.ground(1)?.rig).toEqual(rig);
    expect(laboratory.register.read()).toEqual({ records: [], altered: [] });
    laboratory.close();
    const connection = openForReading('laboratory', path);
    expect(connection.pragma('user_version', { simple: true })).toBe(currentVersion('laboratory'));
    expect(schemaOf(connection)).toEqual(expectedSchema('laboratory'));
    connection.close();
  });
});
