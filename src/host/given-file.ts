import { readFileSync, statSync } from 'node:fs';
import { ChambersideError } from '../model/error-code.ts';

/** Largest file of text that somebody may give, bytes: a thousand times what a scenario needs. */
const mostBytes = 16 * 1024 * 1024;

/**
 * The text of a file that was given by its path. A device or a pipe is not opened: it may never end.
 * @param what it should be, for the message: `scenario`.
 * @param remedy what to do when it cannot be read.
 * @param most how many bytes.
 * @throws ChambersideError `file-not-found`, also for one that may not be read; `file-not-ours`, for a folder, a
 * device, a pipe, and what is larger than any such file.
 */
export function readGivenFile(path: string, what: string, remedy: string, most = mostBytes): string {
  return readGivenBytes(path, what, remedy, most).toString('utf8');
}

/** The same as bytes. @param most how many. @throws as `readGivenFile`. */
export function readGivenBytes(path: string, what: string, remedy: string, most = mostBytes): Buffer {
  const notOurs = (found: string): ChambersideError => {
    const instead = `Give the path of a ${what} file.`;
    return new ChambersideError('file-not-ours', `This is ${found}`, path, instead);
  };
  try {
    const found = statSync(path);
    if (found.isDirectory()) throw notOurs(`a folder, not a ${what} file`);
    if (!found.isFile()) throw notOurs(`a device or a pipe, not a ${what} file`);
    if (found.size > most) throw notOurs(`a file of ${found.size} bytes, not a ${what} file: one has ${most} at most`);
    return readFileSync(path);
  } catch (error) {
    if (error instanceof ChambersideError) throw error;
    throw new ChambersideError('file-not-found', `the ${what} file cannot be read`, path, remedy, error);
  }
}
