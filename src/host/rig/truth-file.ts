import { closeSync, existsSync, openSync, readFileSync, writeSync } from 'node:fs';
import type { TruthSink } from '../../../drivers/virtual-rig/contract.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { microsecondsPerSecond } from '../../model/time.ts';
import { fileSystemError, isFileSystemFailure } from '../file-error.ts';

/** Appended bytes that are not in the file yet, at most. */
const bufferBytes = 65_536;

export interface TruthFile extends TruthSink {
  readonly path: string;
  /** Hands everything to the operating system: it then survives the end of this process, however sudden. */
  flush(): void;
  /** Flushes and closes. Safe to call twice. */
  close(): void;
}

/**
 * A truth record as a file of its own, beside the study and never in it. Bytes are handed to the operating system
 * when 64 kB have gathered, and with the first append after a second of the rig's time.
 * @param now the rig's clock, µs.
 * @param mode `new` for a trial that begins; `append` for one that goes on after a restart, behind what is there.
 * @throws ChambersideError `file-exists`: truth is never overwritten; `file-not-found` when the folder is missing.
 *   `append`, `flush` and `close` throw `disk-full` or `commit-failed`.
 */
export function createTruthFile(path: string, now: () => number, mode: 'new' | 'append' = 'new'): TruthFile {
  let descriptor: number;
  try {
    descriptor = openSync(path, mode === 'new' ? 'wx' : 'a');
  } catch (error) {
    if (mode === 'new' && existsSync(path)) {
      throw new ChambersideError(
        'file-exists',
        'a truth file of this name exists already',
        path,
        'Choose another name, or move the old file away.',
        error,
      );
    }
    throw new ChambersideError(
      'file-not-found',
      'the truth file cannot be made there',
      path,
      'Name a folder that exists and may be written to.',
      error,
    );
  }
  const buffer = Buffer.allocUnsafe(bufferBytes);
  let filled = 0;
  let flushedAtMicroseconds = now();
  let open = true;

  const writeAll = (bytes: Uint8Array): void => {
    let written = 0;
    try {
      while (written < bytes.length) written += writeSync(descriptor, bytes, written);
    } catch (error) {
      throw isFileSystemFailure(error) ? fileSystemError(error, path) : error;
    }
  };

  const flush = (): void => {
    if (!open) return;
    flushedAtMicroseconds = now();
    if (filled === 0) return;
    writeAll(buffer.subarray(0, filled));
    filled = 0;
  };

  return {
    path,
    append(bytes) {
      if (!open) throw new RangeError(`the truth file ${path} is closed`);
      if (filled + bytes.length > bufferBytes) flush();
      if (bytes.length >= bufferBytes) {
        writeAll(bytes);
      } else {
        buffer.set(bytes, filled);
        filled += bytes.length;
      }
      if (now() - flushedAtMicroseconds >= microsecondsPerSecond) flush();
    },
    flush,
    close() {
      if (!open) return;
      try {
        flush();
      } finally {
        open = false;
        closeSync(descriptor);
      }
    },
  };
}

/**
 * A whole truth record as it was appended; the last piece may be torn when its rig was killed.
 * @throws ChambersideError `file-not-found`.
 */
export function readTruthFile(path: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(path));
  } catch (error) {
    throw new ChambersideError(
      'file-not-found',
      'there is no truth file of this name',
      path,
      'Truth exists only for trials on the virtual rig, and only where the rehearsal was told to keep it.',
      error,
    );
  }
}
