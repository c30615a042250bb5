import { closeSync, existsSync, openSync, readFileSync, writeSync } from 'node:fs';
import type { TruthSink } from '../../../drivers/virtual-rig/contract.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { microsecondsPerSecond } from '../../model/time.ts';
import { fileSystemError, isFileSystemFailure } from '../file-error.ts';

/** Appended bytes that are not in the file yet, at most, while the disk takes them. */
const bufferBytes = 65_536;
/** And at most while it does not: some hours of a rig. */
const mostWaitingBytes = 64 * 1024 * 1024;

export interface TruthFile extends TruthSink {
  readonly path: string;
  /** Hands everything to the operating system: it then survives the end of this process, however sudden. */
  flush(): void;
  /** Flushes and closes. Safe to call twice. */
  close(): void;
}

/**
 * A truth record as a file of its own, beside the study and never in it. Bytes are handed to the operating system
 * when 64 kB have gathered, and with the first append after a second of the rig's time. What a disk refuses waits in
 * memory and is tried again every second: the rig goes on meanwhile.
 * @param now the rig's clock, µs.
 * @param mode `new` for a trial that begins; `append` for one that goes on after a restart, behind what is there.
 * @throws ChambersideError `file-exists`: truth is never overwritten; `file-not-found` when the folder is missing.
 *   `flush` and `close` throw `disk-full` or `commit-failed`, `append` only when 64 MB wait.
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

  /** What does not fit the buffer any more, oldest first. */
  let waiting: Uint8Array[] = [];
  let refused = false;

  const setAside = (): void => {
    if (filled > 0) waiting.push(Uint8Array.from(buffer.subarray(0, filled)));
    filled = 0;
  };

  const flush = (): void => {
    if (!open) return;
    flushedAtMicroseconds = now();
    setAside();
    refused = true;
    try {
      for (let first = waiting[0]; first !== undefined; first = waiting[0]) {
        const written = writeSync(descriptor, first);
        if (written < first.length) waiting[0] = first.subarray(written);
        else waiting = waiting.slice(1);
      }
    } catch (error) {
      throw isFileSystemFailure(error) ? fileSystemError(error, path) : error;
    }
    refused = false;
  };

  /** As `flush`, but what the disk refuses may wait, as long as it is not too much. */
  const tryToFlush = (): void => {
    try {
      flush();
    } catch (error) {
      const bytes = waiting.reduce((sum, { length }) => sum + length, 0);
      if (!(error instanceof ChambersideError) || bytes > mostWaitingBytes) throw error;
    }
  };

  return {
    path,
    append(bytes) {
      if (!open) throw new RangeError(`the truth file ${path} is closed`);
      if (filled + bytes.length > bufferBytes) setAside();
      if (bytes.length >= bufferBytes) {
        waiting.push(Uint8Array.from(bytes));
      } else {
        buffer.set(bytes, filled);
        filled += bytes.length;
      }
      const due = now() - flushedAtMicroseconds >= microsecondsPerSecond;
      if (due || (waiting.length > 0 && !refused)) tryToFlush();
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
