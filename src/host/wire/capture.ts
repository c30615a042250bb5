import { open } from 'node:fs/promises';
import { dirname } from 'node:path';
import type { CaptureState } from '../../bridge/wire.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { fileSystemError, isFileSystemFailure } from '../file-error.ts';
import { freeBytes } from '../runtime/folder.ts';
import { endLine, entryLine, headerLine, missedLine, mostCaptureBytes } from './capture-file.ts';
import type { CaptureHeader } from './capture-file.ts';
import type { WireLog } from './wire-log.ts';

/** What a capture writes to. */
export interface CaptureFile {
  /** All of it, or it rejects. */
  append(text: string): Promise<unknown>;
  /** Bytes that the disk has left; null where nothing says. */
  free(): Promise<number | null>;
  close(): Promise<void>;
}

/** A capture under way, or one that has come to its end. */
export interface RunningCapture {
  readonly state: CaptureState;
  /** Entries that were gone from memory before the disk took them. */
  readonly missed: number;
  /** Writes what has come so far, and the end. Resolves when the file is closed; never rejects. */
  end(why: string): Promise<void>;
}

/** How often it looks whether something has come, µs: what a kill may cost. */
const lookMicroseconds = 100_000;
const mostEntries = 500;
/** What is left of the disk below this belongs to whatever is recorded there, bytes. */
export const leftForTrials = 256 * 1024 * 1024;
const lookAtDiskEveryBytes = 1024 * 1024;
/** Left for one more answer of the log, and the end, bytes. */
const leftForTheEnd = 4 * 1024 * 1024;

/**
 * A file that is not there yet, where the disk has room for a capture.
 * @param freeOn bytes that the disk of a folder has left; null where nothing says.
 * @throws ChambersideError `file-exists`, `disk-full`, `commit-failed`.
 */
export async function createCaptureFile(path: string, freeOn = freeBytes): Promise<CaptureFile> {
  const free = await freeOn(dirname(path));
  if (free !== null && free < leftForTrials) throw diskAlmostFull(path);
  try {
    const file = await open(path, 'ax');
    return {
      append: (text) => file.appendFile(text),
      free: () => freeOn(dirname(path)),
      close: () => file.close(),
    };
  } catch (error) {
    if (!isFileSystemFailure(error)) throw error;
    if (error.code !== 'EEXIST') throw fileSystemError(error, path);
    throw new ChambersideError('file-exists', 'The file exists already', path, 'Choose another name.');
  }
}

/**
 * Writes what goes over a wire from now on. It reads the log like a window does, some times a second, so that nothing
 * that measures waits for it: a disk that is slower than the wire costs entries, and the file says how many.
 */
export function beginCapture(options: {
  readonly log: WireLog;
  readonly clock: Clock;
  readonly path: string;
  readonly file: CaptureFile;
  readonly header: CaptureHeader;
  readonly onChange: () => void;
  /** How large the file may become, bytes; absent: as large as can be read. */
  readonly mostBytes?: number;
}): RunningCapture {
  const { clock, file, log, path } = options;
  const beginsAt = clock.now();
  const fullAt = (options.mostBytes ?? mostCaptureBytes) - leftForTheEnd;
  let state: CaptureState = { state: 'running', path, bytes: 0, detail: null };
  let after = log.newest;
  let missedAll = 0;
  let ending: string | null = null;
  let looksAtDisk = 0;
  let wake: (() => void) | null = null;
  let cancel: Cancel | null = null;

  const write = async (text: string): Promise<void> => {
    if (state.bytes >= looksAtDisk) {
      looksAtDisk = state.bytes + lookAtDiskEveryBytes;
      const free = await file.free();
      if (free !== null && free < leftForTrials) throw diskAlmostFull(path);
    }
    await file.append(text);
    state = { ...state, bytes: state.bytes + Buffer.byteLength(text) };
  };
  const pause = (): Promise<void> =>
    new Promise((resolve) => {
      wake = resolve;
      cancel = clock.after(lookMicroseconds, resolve);
    });
  const isFull = (): boolean => state.bytes >= fullAt;
  const drain = async (through: number): Promise<void> => {
    while (after < through && !isFull()) {
      const { entries } = log.read(after, mostEntries);
      let text = '';
      for (const entry of entries) {
        // Reads and problems are forgotten at different times, so that there may be several gaps.
        const gap = entry.number - after - 1;
        if (gap > 0) text += missedLine(gap);
        missedAll += gap;
        text += entryLine(entry, beginsAt);
        after = entry.number;
      }
      await write(text);
    }
  };
  const run = async (): Promise<void> => {
    try {
      await write(headerLine(options.header));
      while (ending === null && !isFull()) {
        await drain(log.newest);
        // Asked to end, or full, while it wrote: there is nothing to wait for.
        if ((ending as string | null) === null && !isFull()) await pause();
      }
      const endsAt = clock.now();
      await drain(log.newest);
      if (isFull()) {
        await write(endLine('it has become as large as a capture can be', endsAt, beginsAt));
        state = { ...state, state: 'stopped', detail: asLargeAsItCanBe(state.bytes, path).message };
      } else {
        await write(endLine(ending ?? '', endsAt, beginsAt));
        state = { ...state, state: 'ended' };
      }
    } catch (error) {
      state = { ...state, state: 'stopped', detail: whyOf(error, path) };
    }
    await file.close().catch(() => undefined);
    options.onChange();
  };
  const running = run();

  return {
    get state() {
      return state;
    },
    get missed() {
      return missedAll;
    },
    end(why) {
      ending ??= why;
      cancel?.();
      wake?.();
      return running;
    },
  };
}

function asLargeAsItCanBe(bytes: number, path: string): ChambersideError {
  const what = `With ${bytes} bytes the capture is as large as one can be, and has ended`;
  return new ChambersideError('action-refused', what, path, 'Begin a new capture for what comes now.');
}

function diskAlmostFull(path: string): ChambersideError {
  const remedy = 'Free some space, then begin a new capture.';
  const what = 'Less than 256 MB of the disk are left, and those belong to what is recorded there';
  return new ChambersideError('disk-full', what, path, remedy);
}

function whyOf(error: unknown, path: string): string {
  if (isChambersideError(error)) return error.message;
  return isFileSystemFailure(error) ? fileSystemError(error, path).message : String(error);
}
