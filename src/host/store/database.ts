import {
  accessSync,
  closeSync,
  constants,
  existsSync,
  fsyncSync,
  openSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import Database from 'better-sqlite3';
import { ChambersideError } from '../../model/error-code.ts';
import { diskFails, diskFull, fileDamaged, fileSystemError, isFileSystemFailure, notWritable } from '../file-error.ts';
import { laboratoryMigrations } from './laboratory-schema.ts';
import { networkReason, parseMounts } from './network-path.ts';
import { openSqlite } from './sqlite.ts';
import { studyMigrations } from './study-schema.ts';

export type Connection = Database.Database;
export type Statement<Bound extends unknown[], Row> = Database.Statement<Bound, Row>;

/** The two kinds of file this program keeps. */
export type FileKind = 'study' | 'laboratory';

/** `application_id` of each kind: the letters CHST and CHLB. */
export const applicationIds: Record<FileKind, number> = { study: 0x43485354, laboratory: 0x43484c42 };

const migrations: Record<FileKind, readonly string[]> = { study: studyMigrations, laboratory: laboratoryMigrations };

/** Version that this program writes. */
export function currentVersion(kind: FileKind): number {
  return migrations[kind].length;
}

const busyTimeoutMilliseconds = 5000;

/**
 * Creates a file of this kind at its current version, in a folder that is there. It appears under its name only when
 * it is complete and on the disk, and when this returns, its name is on the disk too: neither a crash nor a loss of
 * power leaves a half-made file.
 * @param fill writes the rows that every file of the kind begins with.
 * @throws ChambersideError `file-exists`, `file-not-found` (the folder), `file-on-network`, `commit-failed`,
 *   `disk-full`.
 */
export function createDatabase(kind: FileKind, path: string, fill?: (connection: Connection) => void): void {
  if (existsSync(path)) {
    throw new ChambersideError('file-exists', 'The file exists already', path, 'Choose another name.');
  }
  refuseMissingFolder(path);
  refuseNetwork(path);
  const folder = dirname(resolve(path));
  const draft = join(folder, `.${basename(path)}.${process.pid}.draft`);
  rmSync(draft, { force: true });
  try {
    const connection = openSqlite(draft);
    try {
      connection.pragma('synchronous = FULL');
      migrate(kind, connection, 0);
      connection.transaction(() => fill?.(connection))();
    } finally {
      connection.close();
    }
    // Nobody else knows the draft yet, so a handle of our own can drop no lock of SQLite on it.
    synchronize(draft, 'r+');
    renameSync(draft, path);
    synchronizeFolder(folder);
  } catch (error) {
    rmSync(draft, { force: true });
    throw placeError(error, path);
  }
}

/** Makes names in a folder last. A folder cannot be opened on Windows, where a rename itself is written through. */
export function synchronizeFolder(folder: string): void {
  if (process.platform !== 'win32') synchronize(folder, 'r');
}

/** What is written of a file is on the disk when this returns. */
export function synchronize(path: string, flags: 'r' | 'r+'): void {
  const descriptor = openSync(path, flags);
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}

/**
 * A folder that is not there is more often a slip of the pen than a wish, and a study in a folder that nobody knows of
 * is a lost study.
 * @throws ChambersideError `file-not-found`.
 */
export function refuseMissingFolder(path: string): void {
  const folder = dirname(resolve(path));
  const found = statSync(folder, { throwIfNoEntry: false });
  if (found?.isDirectory() === true) return;
  if (found !== undefined) {
    throw new ChambersideError('file-not-found', 'The path leads through a file', folder, 'Correct the path.');
  }
  throw new ChambersideError(
    'file-not-found',
    'There is no such folder',
    folder,
    'Make the folder first, or correct the path.',
  );
}

/**
 * Opens a file for writing: write-ahead log, `synchronous = FULL`, both asserted, migrated to the current version.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`, `file-damaged`, `file-on-network`.
 */
export function openForWriting(kind: FileKind, path: string): Connection {
  refuseForeign(kind, path);
  refuseNetwork(path);
  const connection = open(path, false);
  try {
    const version = checkVersion(kind, connection, path);
    // A reopened write-ahead file starts with synchronous = NORMAL, so this is set and asserted every time.
    const journal = connection.pragma('journal_mode = WAL', { simple: true });
    connection.pragma('synchronous = FULL');
    connection.pragma('foreign_keys = ON');
    const synchronous = connection.pragma('synchronous', { simple: true });
    if (journal !== 'wal' || synchronous !== 2) {
      throw new ChambersideError(
        'commit-failed',
        `The file cannot be written safely: journal ${String(journal)}, synchronous ${String(synchronous)}`,
        path,
        'Copy it to a local disk and record there.',
      );
    }
    migrate(kind, connection, version);
    return connection;
  } catch (error) {
    connection.close();
    throw storageError(error, path);
  }
}

/**
 * Opens a file read-only; nothing is changed, migrated or locked for others.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-newer`, `file-damaged`.
 */
export function openForReading(kind: FileKind, path: string): Connection {
  refuseNoFile(kind, path);
  const connection = open(path, true);
  try {
    checkKind(kind, connection, path);
    checkVersion(kind, connection, path);
    return connection;
  } catch (error) {
    connection.close();
    throw storageError(error, path);
  }
}

/**
 * Closes a writing connection so that one plain file is left: checkpoint, then journal mode DELETE. While others
 * still read, the file stays in write-ahead mode and nothing is lost.
 */
export function closeCleanly(connection: Connection): void {
  try {
    connection.pragma('wal_checkpoint(TRUNCATE)');
    connection.pragma('busy_timeout = 0');
    connection.pragma('journal_mode = DELETE');
  } catch (error) {
    if (!isBusy(error)) throw error;
  } finally {
    connection.close();
  }
}

/** Names and definitions of everything in the database, in order: what `verify` compares with the original. */
export function schemaOf(connection: Connection): string[] {
  const rows = connection
    .prepare<[], { text: string }>(
      "SELECT type || ' ' || name || ' ' || coalesce(sql, '') AS text FROM sqlite_master ORDER BY type, name",
    )
    .all();
  return rows.map((row) => row.text);
}

const schemas = new Map<string, readonly string[]>();

/** The schema that a file of this kind has at a version. */
export function expectedSchema(kind: FileKind, version = currentVersion(kind)): readonly string[] {
  const key = `${kind} ${version}`;
  const known = schemas.get(key);
  if (known !== undefined) return known;
  const connection = openSqlite(':memory:');
  try {
    migrate(kind, connection, 0, version);
    const schema = schemaOf(connection);
    schemas.set(key, schema);
    return schema;
  } finally {
    connection.close();
  }
}

/** What SQLite calls an error, or null for anything else. */
export function sqliteCode(error: unknown): string | null {
  return error instanceof Database.SqliteError ? error.code : null;
}

function isBusy(error: unknown): boolean {
  const code = sqliteCode(error);
  return code !== null && (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED'));
}

/** Whether an error came from SQLite or the file system, and not from a defect of ours. */
export function isStorageFailure(error: unknown): boolean {
  return sqliteCode(error) !== null || isFileSystemFailure(error);
}

/** Translates an error of SQLite or the file system into one of ours; ours pass unchanged. */
export function storageError(error: unknown, path: string): ChambersideError {
  if (error instanceof ChambersideError) return error;
  if (isFileSystemFailure(error)) return fileSystemError(error, path);
  const what = error instanceof Error ? error.message : String(error);
  const code = sqliteCode(error) ?? '';
  if (code === 'SQLITE_FULL') return diskFull(path, error);
  if (code === 'SQLITE_READONLY_DBMOVED') {
    return new ChambersideError(
      'commit-failed',
      'The file was moved, renamed or deleted while it was in use',
      path,
      'Put it back under this name, with the files beside it that begin with its name.',
      error,
    );
  }
  if (code.startsWith('SQLITE_READONLY')) return notWritable(path, error);
  if (code.startsWith('SQLITE_IOERR')) return diskFails(what, path, error);
  if (code === 'SQLITE_NOTADB' || code.startsWith('SQLITE_CORRUPT')) {
    return fileDamaged(`The file is damaged: ${what}`, path, error);
  }
  if (code === 'SQLITE_CANTOPEN') {
    return new ChambersideError(
      'file-damaged',
      'The file was not closed cleanly and its folder cannot be written',
      path,
      'Copy it, with the files beside it that begin with its name, to a folder that can be written.',
      error,
    );
  }
  if (what.includes('trial-sealed')) {
    return new ChambersideError('trial-sealed', 'The trial is sealed', path, 'Record a new trial.', error);
  }
  return new ChambersideError('commit-failed', what, path, 'Check the disk and its permissions.', error);
}

/** As `storageError`, for a file that is about to be made: what cannot be opened then is its place. */
export function placeError(error: unknown, path: string): ChambersideError {
  if (sqliteCode(error)?.startsWith('SQLITE_CANTOPEN') !== true) return storageError(error, path);
  return notWritable(path, error);
}

function open(path: string, readonly: boolean): Connection {
  try {
    return openSqlite(path, { readonly, fileMustExist: true, timeout: busyTimeoutMilliseconds });
  } catch (error) {
    throw storageError(error, path);
  }
}

/**
 * Asks SQLite itself, read-only. Looking at the bytes with a handle of our own would be simpler and fatal: closing it
 * drops every lock that this process holds on the file, also those of the writer in another thread.
 */
function refuseForeign(kind: FileKind, path: string): void {
  refuseNoFile(kind, path);
  const connection = open(path, true);
  try {
    checkKind(kind, connection, path);
  } finally {
    connection.close();
  }
}

function checkKind(kind: FileKind, connection: Connection, path: string): void {
  let application: unknown;
  try {
    application = connection.pragma('application_id', { simple: true });
  } catch (error) {
    if (sqliteCode(error) !== 'SQLITE_NOTADB') throw storageError(error, path);
    application = null;
  }
  if (application === applicationIds[kind]) return;
  throw new ChambersideError(
    'file-not-ours',
    `This is not a ${kind} file of this program`,
    path,
    'Choose another file.',
  );
}

/**
 * What is not there, and what SQLite would only call a failing disk: a folder, a device or a pipe, and a file that may
 * not be read. None of the questions opens the file.
 * @throws ChambersideError `file-not-found`, `file-not-ours`, `file-unreadable`.
 */
function refuseNoFile(kind: FileKind, path: string): void {
  if (!existsSync(path)) {
    throw new ChambersideError('file-not-found', 'There is no such file', path, 'Check the path and the permissions.');
  }
  const found = statSync(path);
  if (found.isDirectory()) {
    const what = `This is a folder, not a ${kind} file`;
    throw new ChambersideError('file-not-ours', what, path, `Give the path of a ${kind} file in it.`);
  }
  if (!found.isFile()) {
    const what = `This is a device or a pipe, not a ${kind} file`;
    throw new ChambersideError('file-not-ours', what, path, `Give the path of a ${kind} file.`);
  }
  try {
    accessSync(path, constants.R_OK);
  } catch (error) {
    const remedy = 'Ask its owner for the permission to read it.';
    throw new ChambersideError('file-unreadable', 'This file may not be read', path, remedy, error);
  }
}

function checkVersion(kind: FileKind, connection: Connection, path: string): number {
  const version = connection.pragma('user_version', { simple: true }) as number;
  if (version > currentVersion(kind)) {
    throw new ChambersideError(
      'file-newer',
      `The file has version ${version}; this program knows versions up to ${currentVersion(kind)}`,
      path,
      'Open it with the newer version of the program.',
    );
  }
  return version;
}

function migrate(kind: FileKind, connection: Connection, from: number, to = currentVersion(kind)): void {
  for (const [index, sql] of migrations[kind].entries()) {
    if (index < from || index >= to) continue;
    connection.transaction(() => {
      connection.exec(sql);
      connection.pragma(`application_id = ${applicationIds[kind]}`);
      connection.pragma(`user_version = ${index + 1}`);
    })();
  }
}

/** @throws ChambersideError `file-on-network`. */
function refuseNetwork(path: string): void {
  const folder = resolve(dirname(path));
  const absolute = existsSync(folder) ? realpathSync(folder) : folder;
  const reason = networkReason(
    absolute,
    process.platform,
    process.platform === 'linux' ? parseMounts(mountTable()) : [],
  );
  if (reason !== null) {
    throw new ChambersideError(
      'file-on-network',
      `Recording on a network path is refused: ${reason}`,
      path,
      'Record into a local working copy and move it when it is closed.',
    );
  }
}

function mountTable(): string {
  try {
    return readFileSync('/proc/self/mounts', 'utf8');
  } catch {
    return '';
  }
}
