import { ChambersideError } from '../model/error-code.ts';

/** What the operating system says when a file cannot be written, in our words. */

/** Whether an error is the operating system's answer to a call on a file. */
export function isFileSystemFailure(error: unknown): error is NodeJS.ErrnoException {
  if (!(error instanceof Error)) return false;
  const { code, syscall } = error as NodeJS.ErrnoException;
  return typeof code === 'string' && typeof syscall === 'string';
}

/** @param path the file that was meant, which need not be the one that the call was about. */
export function fileSystemError(error: NodeJS.ErrnoException, path: string): ChambersideError {
  return knownFileSystemError(error, path) ?? diskFails(error.message, path, error);
}

/** What has a cause that its person can mend; null for any other. */
export function knownFileSystemError(error: NodeJS.ErrnoException, path: string): ChambersideError | null {
  switch (error.code) {
    case 'ENOSPC':
    case 'EDQUOT':
      return diskFull(path, error);
    case 'EACCES':
    case 'EPERM':
    case 'EROFS':
      return notWritable(path, error);
    case 'ENAMETOOLONG':
      return nameTooLong(path, error);
    default:
      return null;
  }
}

export function diskFull(path: string, cause: unknown): ChambersideError {
  const remedy = 'Free some space, then try again; what is being recorded waits in memory.';
  return new ChambersideError('disk-full', 'The disk is full', path, remedy, cause);
}

export function notWritable(path: string, cause: unknown): ChambersideError {
  return new ChambersideError(
    'commit-failed',
    'The file or its folder is read-only',
    path,
    'Make both writable (permissions, a disk that is mounted read-only), or choose another folder.',
    cause,
  );
}

/** Most file systems take 255 bytes for one name and 4096 for a path; the system does not say which it was. */
export function nameTooLong(path: string, cause: unknown): ChambersideError {
  const shown = path.length > 200 ? `${path.slice(0, 200)}…` : path;
  return new ChambersideError(
    'usage-bad-value',
    'The name of the file or its path is too long for the disk',
    shown,
    'Give a shorter one: 255 bytes at most for a name.',
    cause,
  );
}

/** The remedy is not to verify it: `verify` itself says this. */
export function fileDamaged(what: string, where: string, cause?: unknown): ChambersideError {
  const remedy = 'Leave it as it is, and go on with a copy that verifies.';
  return new ChambersideError('file-damaged', what, where, remedy, cause);
}

export function diskFails(what: string, path: string, cause: unknown): ChambersideError {
  return new ChambersideError(
    'commit-failed',
    `The disk refuses: ${what}`,
    path,
    'Check the disk, its connection and its permissions.',
    cause,
  );
}
