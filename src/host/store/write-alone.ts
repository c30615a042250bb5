import { closeCleanly, openForReading, openForWriting, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { acquireLock } from './lease.ts';

/**
 * Writes into a study that nobody records into.
 * @throws ChambersideError `study-in-use`, those of opening a file, and what the work throws.
 */
export function writeAlone<Result>(path: string, work: (connection: Connection) => Result): Result {
  // Asked first by reading alone: a wrong path must not leave a lock file behind.
  openForReading('study', path).close();
  const lock = acquireLock(path);
  try {
    const connection = openForWriting('study', path);
    try {
      return work(connection);
    } catch (error) {
      throw storageError(error, path);
    } finally {
      closeCleanly(connection);
    }
  } finally {
    lock.release();
  }
}
