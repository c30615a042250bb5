import { rmSync } from 'node:fs';
import { hostname } from 'node:os';
import { ChambersideError } from '../../model/error-code.ts';
import { placeError, sqliteCode } from './database.ts';
import type { Connection } from './database.ts';
import { identityOf } from './file-identity.ts';
import { openSqlite } from './sqlite.ts';

/**
 * Keeps two recording hosts off one study. The lock is an exclusive SQLite lock on a side file, which the
 * operating system releases when the process ends, however it ends. The lease row says who holds it, and stops
 * a second machine where the file system does not carry locks across.
 */
export interface StudyLock {
  /** Whether the side file is where it was: whoever takes it away lets another host in. */
  stands(): boolean;
  release(): void;
  /** Of a lock whose side file is somebody else's now. */
  letGo(): void;
}

export function lockPath(studyPath: string): string {
  return `${studyPath}-lock`;
}

/** @throws ChambersideError `study-in-use`, and `commit-failed` or `disk-full` where no lock file can be made. */
export function acquireLock(studyPath: string): StudyLock {
  const path = lockPath(studyPath);
  // A holder removes the side file when it is done; whoever opened it just before holds a lock on a file that no
  // longer has a name. Comparing the file before and after shows that, and it is tried again.
  for (let attempt = 0; attempt < 20; attempt += 1) {
    // By SQLite, never by the file system: closing another handle of a file drops all locks of this process on it.
    let before: string | null;
    let side: Connection;
    try {
      if (identityOf(path) === null) openSqlite(path).close();
      before = identityOf(path);
      side = openSqlite(path, { timeout: 0 });
    } catch (error) {
      throw placeError(error, studyPath);
    }
    try {
      side.pragma('locking_mode = EXCLUSIVE');
      side.exec('BEGIN EXCLUSIVE');
      if (before !== null && before === identityOf(path)) {
        return {
          stands: () => identityOf(path) === before,
          release: () => release(side, path, before),
          letGo: () => void side.close(),
        };
      }
      side.close();
    } catch (error) {
      side.close();
      if (sqliteCode(error)?.startsWith('SQLITE_BUSY') !== true) throw placeError(error, studyPath);
      throw inUse(studyPath, 'Another program on this machine is recording into this study');
    }
  }
  throw inUse(studyPath, 'The lock of this study changes hands all the time');
}

/** A new lock for one whose side file was taken away. @throws ChambersideError `study-in-use`. */
export function replaceLock(lost: StudyLock, studyPath: string): StudyLock {
  const lock = acquireLock(studyPath);
  lost.letGo();
  return lock;
}

function release(side: Connection, path: string, identity: string): void {
  // Where it was taken away, the one that stands there now is somebody else's.
  if (identityOf(path) !== identity) {
    side.close();
    return;
  }
  // Removed while still locked where the system allows it; afterwards somebody else may hold it already.
  if (process.platform !== 'win32') rmSync(path, { force: true });
  side.close();
  if (process.platform === 'win32') {
    try {
      rmSync(path, { force: true });
    } catch {
      // Another host has opened it in between, and removes it when it is done.
    }
  }
}

function inUse(path: string, what: string): ChambersideError {
  return new ChambersideError('study-in-use', what, path, 'Close it there, or choose another study.');
}

interface LeaseRow {
  host: string;
  machine: string;
  process: number;
  heartbeat_at: string;
}

/** A lease is between machines, so it carries the machine's own wall clock and never an injected one. */
function machineTime(): string {
  return new Date().toISOString();
}

/** A heartbeat older than this is a lease that nobody holds any more. */
const leaseSeconds = 15;

/**
 * Takes the lease, with the lock held. A lease of this machine is stale then; one of another machine is stale
 * when its heartbeat is old.
 * @throws ChambersideError `study-in-use`.
 */
export function takeLease(connection: Connection, path: string, hostId: string, now = machineTime()): void {
  const row = connection.prepare<[], LeaseRow>('SELECT host, machine, process, heartbeat_at FROM lease').get();
  if (row !== undefined && row.machine !== hostname()) {
    const age = (Date.parse(now) - Date.parse(row.heartbeat_at)) / 1000;
    if (Math.abs(age) < leaseSeconds) {
      throw inUse(path, `Host ${row.host} (process ${row.process} on ${row.machine}) is recording into this study`);
    }
  }
  connection
    .prepare('INSERT OR REPLACE INTO lease (only, host, machine, process, heartbeat_at) VALUES (1, ?, ?, ?, ?)')
    .run(hostId, hostname(), process.pid, now);
}

export function renewLease(connection: Connection, now = machineTime()): void {
  connection.prepare('UPDATE lease SET heartbeat_at = ?').run(now);
}

export function dropLease(connection: Connection): void {
  connection.prepare('DELETE FROM lease').run();
}
