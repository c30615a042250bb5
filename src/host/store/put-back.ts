import { existsSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join, parse, resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { openForWriting, refuseMissingFolder, storageError, synchronize, synchronizeFolder } from './database.ts';
import type { Connection } from './database.ts';
import { identityOf } from './file-identity.ts';

/**
 * A file that is deleted or moved while it is open lives on where the system lets it, without a name, until the last
 * handle on it is closed. Whoever has it open can read all of it, and write it anew under its name.
 */

/**
 * Whether nothing stands under the name any more.
 * @param identity of the file that is open.
 * @throws ChambersideError `commit-failed` when another file does.
 */
export function hasLeft(path: string, identity: string | null): boolean {
  const now = identityOf(path);
  if (now === null) return true;
  if (now === identity) return false;
  throw new ChambersideError(
    'commit-failed',
    'Another file has taken the place of the study while it was in use',
    path,
    'Move that file away; the study is then written anew from what the program holds.',
  );
}

/**
 * Writes all that a connection reads to a new file beside the place, and onto the disk.
 * @returns its path.
 * @throws ChambersideError `file-not-found` (the folder), and what SQLite and the file system throw.
 */
export function writeAnew(connection: Connection, path: string): string {
  refuseMissingFolder(path);
  const draft = join(dirname(resolve(path)), `.${basename(path)}.${process.pid}.draft`);
  rmSync(draft, { force: true });
  connection.prepare('VACUUM INTO ?').run(draft);
  synchronize(draft, 'r+');
  return draft;
}

/**
 * Gives a file that `writeAnew` wrote the name that it is to have, and opens it for writing. Files beside the one that
 * has gone are taken away first: they would be read as a part of the new one.
 */
export function takePlace(draft: string, path: string): Connection {
  for (const end of ['-wal', '-shm', '-journal']) rmSync(`${path}${end}`, { force: true });
  renameSync(draft, path);
  synchronizeFolder(dirname(resolve(path)));
  return openForWriting('study', path);
}

/**
 * Before a connection is closed for good: what could not be put back is written beside its place, under another name.
 * @returns what is to be said then; null where all is in its place.
 */
export function rescueBeside(
  connection: Connection,
  path: string,
  putBack: () => unknown,
): ChambersideError | null {
  try {
    putBack();
    return null;
  } catch (error) {
    const { dir, ext, name } = parse(resolve(path));
    let number = 1;
    while (existsSync(join(dir, `${name} rescued ${number}${ext}`))) number += 1;
    const rescued = join(dir, `${name} rescued ${number}${ext}`);
    try {
      renameSync(writeAnew(connection, path), rescued);
      synchronizeFolder(dir);
    } catch (worse) {
      return storageError(worse, path);
    }
    return new ChambersideError(
      'commit-failed',
      'Another file has taken the place of the study; what was recorded is in a copy beside it',
      rescued,
      'Move the other file away, and give the copy its name.',
      error,
    );
  }
}
