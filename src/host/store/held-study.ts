import { existsSync, realpathSync, rmSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import { createStudy } from './create-study.ts';
import { closeCleanly, openForWriting, refuseMissingFolder, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { identityOf } from './file-identity.ts';
import { acquireLock, dropLease, replaceLock, takeLease } from './lease.ts';
import type { StudyLock } from './lease.ts';
import { hasGone, rescueElsewhere, rescueName, writeAnew } from './put-back.ts';
import { removeSideFiles, sideFilesOf, type SideFiles } from './put-back.ts';

/** Writing a whole study takes a while: where it fails, it is tried again after so long. */
const putBackEveryMilliseconds = 10_000;

/** A study file that this host holds: connection, lock and lease, and where the file really is. */
export class HeldStudy {
  readonly created: boolean;
  readonly #path: string;
  readonly #hostId: Identifier;
  #connection: Connection;
  #lock: StudyLock;
  /** What the lock is named after. */
  #lockedAs: string;
  /** Where the file is, links followed: SQLite keeps its other files there. */
  #at: string;
  #file: string | null;
  #beside: SideFiles;
  /** Putting it back failed, and is not tried again before then. */
  #failed: { readonly error: ChambersideError; readonly until: number } | null = null;

  /** @throws ChambersideError `study-in-use`, `file-not-found` and those of opening and creating a file. */
  constructor(path: string, studyName: string | null, hostId: Identifier, now: string) {
    this.#path = path;
    this.#hostId = hostId;
    this.created = studyName !== null && !existsSync(path);
    if (this.created) refuseMissingFolder(path);
    else if (!existsSync(path)) {
      const remedy = 'Check the path, or create the study.';
      throw new ChambersideError('file-not-found', 'There is no such study', path, remedy);
    }
    this.#lock = acquireLock(path);
    this.#lockedAs = path;
    let connection: Connection | null = null;
    try {
      // Under the lock, so that two hosts cannot create the same study at once.
      if (studyName !== null && !existsSync(path)) createStudy(path, studyName, now);
      connection = openForWriting('study', path);
      takeLease(connection, path, hostId);
      this.#connection = connection;
      this.#at = realpathSync(path);
      this.#file = identityOf(path);
      this.#beside = sideFilesOf(this.#at);
    } catch (error) {
      if (connection !== null) closeCleanly(connection);
      this.#lock.release();
      throw storageError(error, path);
    }
  }

  /** The path that was asked for, or where the file had to go. */
  get at(): string {
    return this.#lockedAs;
  }

  /** Another one after the file was put back. */
  get connection(): Connection {
    return this.#connection;
  }

  /**
   * Looks whether the file is still at its place (0137). One that was deleted or moved away is written anew, whole,
   * from what this connection still reads of it; where another file stands now, under a name of its own beside that.
   * @returns what happened, to be told; null when all is well.
   * @throws ChambersideError when it cannot be written, `study-in-use` when another host has taken its lock meanwhile.
   */
  putBack(): ChambersideError | null {
    const standing = identityOf(this.#at);
    // A lock that was taken away is another matter than a file: that one may stand, and somebody may record in it.
    if (!this.#lock.stands()) this.#lock = replaceLock(this.#lock, this.#lockedAs);
    if (standing === this.#file) return null;
    if (this.#failed !== null && performance.now() < this.#failed.until) throw this.#failed.error;
    try {
      this.#goOnIn(standing === null ? this.#at : rescueName(this.#at));
      this.#failed = null;
    } catch (error) {
      this.#failed = { error: storageError(error, this.#path), until: performance.now() + putBackEveryMilliseconds };
      throw this.#failed.error;
    }
    return hasGone(this.#path, standing === null ? null : this.#at);
  }

  /** Whether the file has no name any more: what is committed now can be read by this connection alone. */
  get hasLeft(): boolean {
    return identityOf(this.#at) !== this.#file;
  }

  /** Whether SQLite's log was taken away from beside a file that stands: readers would miss what is in it. */
  get logHasGone(): boolean {
    const log = `${this.#at}-wal`;
    return !this.hasLeft && identityOf(log) !== this.#beside.get(log);
  }

  /**
   * Brings what is in the log into the file, for whoever opens it next. This connection is of no use then.
   * @throws ChambersideError `commit-failed` while somebody reads by that log: part of it could not be brought in.
   */
  settleLog(): void {
    const busy = this.#connection.pragma('wal_checkpoint(TRUNCATE)', { simple: true });
    if (busy !== 0) {
      const what = 'The log of the study was taken away from beside it, and somebody reads by it still';
      throw new ChambersideError('commit-failed', what, this.#path, 'Nothing: it is tried again every second.');
    }
    this.#connection.close();
    this.#lock.release();
  }

  /** Writes the whole study to a new file and goes on in it; as it is when that fails. */
  #goOnIn(path: string): void {
    // They would be read as a part of whatever stands there next. This connection has them open.
    removeSideFiles(path === this.#at ? sideFilesOf(path) : this.#beside);
    const made = writeAnew(this.#connection, path);
    const [old, oldLock] = [this.#connection, this.#lock];
    let opened: Connection | null = null;
    let lock = oldLock;
    try {
      opened = openForWriting('study', path);
      takeLease(opened, path, this.#hostId);
      if (path !== this.#at) lock = acquireLock(path);
      if (identityOf(path) !== made) throw hasGone(path, path);
    } catch (error) {
      opened?.close();
      if (lock !== oldLock) lock.release();
      if (identityOf(path) === made) for (const end of ['', '-wal', '-shm']) rmSync(`${path}${end}`, { force: true });
      throw error;
    }
    this.#beside = sideFilesOf(path);
    [this.#connection, this.#lock, this.#file] = [opened, lock, made];
    if (lock !== oldLock) this.#lockedAs = path;
    this.#at = path;
    try {
      old.close();
      if (lock !== oldLock) oldLock.release();
    } catch {
      // The study is safe in its new file.
    }
  }

  /**
   * Gives the lease back, leaves one plain file and releases the lock.
   * @throws ChambersideError also when the file has gone and is now elsewhere; it says where.
   */
  close(): void {
    this.#failed = null;
    let elsewhere: ChambersideError | null = null;
    try {
      try {
        this.putBack();
        if (this.#lockedAs !== this.#path) elsewhere = hasGone(this.#path, this.#lockedAs);
      } catch (error) {
        elsewhere = storageError(error, this.#path);
        if (this.hasLeft) elsewhere = rescueElsewhere(this.#connection, this.#path, elsewhere);
      }
      if (this.hasLeft || !this.#lock.stands()) this.#connection.close();
      else this.#giveBack();
    } finally {
      this.#lock.release();
    }
    if (elsewhere !== null) throw elsewhere;
  }

  #giveBack(): void {
    try {
      dropLease(this.#connection);
    } finally {
      closeCleanly(this.#connection);
    }
  }
}
