import {
  closeSync,
  existsSync,
  fsyncSync,
  linkSync,
  openSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { fileSystemError, isFileSystemFailure } from '../file-error.ts';

/**
 * Writes a file whole or not at all: under another name first, and then, when it is on the disk, under its own.
 * @param replace whether a file of this name may be written over.
 * @throws ChambersideError `file-exists`, `file-not-found` (the folder), `commit-failed`, `disk-full`.
 */
export function saveReport(path: string, bytes: Uint8Array, replace: boolean): void {
  refuseBeforeWork(path, replace);
  const folder = dirname(resolve(path));
  const draft = join(folder, `.${basename(path)}.${process.pid}.draft`);
  try {
    const descriptor = openSync(draft, 'wx', 0o644);
    try {
      writeFileSync(descriptor, bytes);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    if (replace) renameSync(draft, path);
    else linkSync(draft, path);
  } catch (error) {
    if (isFileSystemFailure(error)) throw error.code === 'EEXIST' ? exists(path) : fileSystemError(error, path);
    throw error;
  } finally {
    rmSync(draft, { force: true });
  }
}

/** The same refusals as of `saveReport`, before there is anything to save. */
export function refuseBeforeWork(path: string, replace: boolean): void {
  const folder = dirname(resolve(path));
  if (!existsSync(folder)) {
    throw new ChambersideError('file-not-found', 'The folder is not there', folder, 'Make it, or choose another one.');
  }
  if (statSync(path, { throwIfNoEntry: false })?.isDirectory() === true) {
    throw new ChambersideError('file-exists', 'This is a folder', path, 'Name a file in it.');
  }
  if (!replace && existsSync(path)) throw exists(path);
}

function exists(path: string): ChambersideError {
  return new ChambersideError(
    'file-exists',
    'The file exists already',
    path,
    'Choose another name, or give --replace to write over it.',
  );
}
