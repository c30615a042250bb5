import { existsSync, linkSync, renameSync, rmSync } from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { basename, dirname, join, parse, resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { refuseMissingFolder, synchronize, synchronizeFolder } from './database.ts';
import type { Connection } from './database.ts';
import { identityOf } from './file-identity.ts';

/**
 * A file that is deleted or moved while it is open lives on where the system lets it, without a name, until the last
 * handle on it is closed. Whoever has it open can read all of it, and write it anew under a name.
 */

const sides = ['-wal', '-shm', '-journal'] as const;

/** Files that SQLite keeps beside one that it has open: name and which file it is. */
export type SideFiles = ReadonlyMap<string, string | null>;

export function sideFilesOf(path: string): SideFiles {
  return new Map(sides.map((end) => [`${path}${end}`, identityOf(`${path}${end}`)]));
}

/** Takes away those that are still the same: they would be read as a part of whatever stands under the name now. */
export function removeSideFiles(files: SideFiles): void {
  for (const [path, identity] of files) {
    if (identity !== null && identityOf(path) === identity) rmSync(path, { force: true });
  }
}

/** A name beside a path that nothing has: `study rescued 1.chamberside`. */
export function rescueName(path: string, folder = dirname(resolve(path))): string {
  const { ext, name } = parse(path);
  let number = 1;
  while (existsSync(join(folder, `${name} rescued ${number}${ext}`))) number += 1;
  return join(folder, `${name} rescued ${number}${ext}`);
}

/**
 * Writes all that a connection reads to a new file, and onto the disk. Nothing that stands there is replaced, and
 * nothing is left behind where it fails.
 * @returns which file it is.
 * @throws ChambersideError `file-not-found` (the folder), and what SQLite and the file system throw.
 */
export function writeAnew(connection: Connection, path: string): string | null {
  refuseMissingFolder(path);
  const folder = dirname(resolve(path));
  const draft = join(folder, `.${basename(path)}.${process.pid}.draft`);
  rmSync(draft, { force: true });
  let made: string | null = null;
  try {
    connection.prepare('VACUUM INTO ?').run(draft);
    made = identityOf(draft);
    synchronize(draft, 'r+');
    takeName(draft, path);
    synchronizeFolder(folder);
    return made;
  } catch (error) {
    for (const end of ['', '-journal']) rmSync(`${draft}${end}`, { force: true });
    if (made !== null && identityOf(path) === made) rmSync(path, { force: true });
    throw error;
  }
}

/** Unlike renaming, a link never replaces what has come under the name meanwhile. */
function takeName(draft: string, path: string): void {
  try {
    linkSync(draft, path);
  } catch (error) {
    // Some file systems have no links.
    if (existsSync(path)) throw error;
    renameSync(draft, path);
    return;
  }
  rmSync(draft);
}

/**
 * Writes a copy where there is room, because nothing can be put back at the place of the file.
 * @param because why it could not.
 * @returns what is to be told: where it is, or that there is room nowhere.
 */
export function rescueElsewhere(connection: Connection, path: string, because: ChambersideError): ChambersideError {
  for (const folder of [dirname(resolve(path)), homedir(), tmpdir()]) {
    const copy = rescueName(path, folder);
    try {
      writeAnew(connection, copy);
    } catch {
      continue;
    }
    return new ChambersideError(
      'commit-failed',
      'The study file has gone and could not be put back; what was recorded is in a copy',
      copy,
      'Move the copy to where it belongs, and look at what moves files there.',
      because,
    );
  }
  return new ChambersideError(
    because.code,
    `The study file has gone, and it could be written anew neither there nor elsewhere (${because.what}): it is lost`,
    path,
    'Look for a copy of it: in a wastebasket, a cloud folder, a backup.',
    because,
  );
}

/** What is told once the study has been written anew. @param beside where it is now; null: at its place. */
export function hasGone(path: string, beside: string | null): ChambersideError {
  return beside === null
    ? new ChambersideError(
        'commit-failed',
        'The study file was deleted or moved away while it was in use, and has been written anew, whole',
        path,
        'Find out what moves files here, and keep it away. A copy that was moved is older than this one.',
      )
    : new ChambersideError(
        'commit-failed',
        `Another file has taken the place of the study while it was in use; the record goes on in ${basename(beside)}`,
        path,
        `When the trial is over, open ${basename(beside)}: it holds the whole study. Find out what puts files here.`,
      );
}
