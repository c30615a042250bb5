import { execFileSync } from 'node:child_process';
import { closeSync, readSync, writeSync } from 'node:fs';
import { createRequire } from 'node:module';
import { ChambersideError } from '../../model/error-code.ts';
import { createOutbox } from './outbox.ts';

/** The device's side of a serial line that the operating system makes up. */
export interface PseudoTerminal {
  /** What the program opens. */
  readonly path: string;
  /** A program has the line open. */
  readonly heard: boolean;
  /** Bytes that the program was too slow to read. */
  readonly droppedBytes: number;
  /** Towards the program; into thin air while nobody has the line open, as on a real one. Never blocks. */
  write(bytes: Uint8Array): void;
  /** The line is gone: a program that has it open sees a hang-up. */
  close(): void;
}

export interface PseudoTerminalOptions {
  readonly onBytes: (bytes: Uint8Array) => void;
}

/**
 * The part of the terminal package that makes a pair without a child process. Its public `open` also reads the
 * program's side, which is why the native module is asked directly.
 */
interface NativeTerminals {
  open(columns: number, rows: number): { readonly master: number; readonly slave: number; readonly pty: string };
}

/** How often the line is looked at while a program has it open, and while none has, ms. */
const heardPollMilliseconds = 2;
const unheardPollMilliseconds = 20;

function loadNative(): NativeTerminals {
  const require = createRequire(import.meta.url);
  const { requireBinary } = require('@lydell/node-pty/requireBinary.js') as {
    requireBinary(file: string): NativeTerminals;
  };
  return requireBinary('pty.node');
}

function errorCodeOf(error: unknown): string {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}

/**
 * Makes a pseudo-terminal in raw mode without echo. Must not live in the process that opens the other side with
 * blocking writes: each could wait for the other.
 *
 * The device's side is non-blocking and is polled rather than waited on, for one reason: reading it is the only
 * way to learn whether a program has the line open. Bytes sent while none has would otherwise be kept by the
 * operating system and reach the next program as old readings with new stamps.
 * @throws ChambersideError `rig-process-failed` where the platform has no pseudo-terminals.
 */
export function openPseudoTerminal(options: PseudoTerminalOptions): PseudoTerminal {
  let master: number;
  let path: string;
  try {
    const pair = loadNative().open(80, 24);
    master = pair.master;
    path = pair.pty;
    execFileSync('stty', [process.platform === 'darwin' ? '-f' : '-F', path, 'raw', '-echo'], { stdio: 'pipe' });
    closeSync(pair.slave);
  } catch (error) {
    throw new ChambersideError(
      'rig-process-failed',
      `no pseudo-terminal could be made: ${error instanceof Error ? error.message : String(error)}`,
      'virtual rig, pseudo-terminals',
      'Use TCP ports instead: --wire tcp.',
      error,
    );
  }
  const buffer = Buffer.alloc(4096);
  let heard = false;
  let closed = false;
  let timer: NodeJS.Timeout | undefined;

  const outbox = createOutbox({
    send(bytes) {
      try {
        return writeSync(master, bytes);
      } catch (error) {
        // Full at present; or hung up, which the next look at the line will tell.
        if (['EAGAIN', 'EIO'].includes(errorCodeOf(error))) return 0;
        throw error;
      }
    },
  });

  /** Looks at the line once: takes what the program sent, and learns whether one is there. */
  const look = (): void => {
    while (!closed) {
      let count: number;
      try {
        count = readSync(master, buffer);
      } catch (error) {
        // "Again": open and silent. "Input/output error": nobody has it open.
        heard = errorCodeOf(error) === 'EAGAIN';
        break;
      }
      heard = true;
      if (count === 0) break;
      options.onBytes(new Uint8Array(buffer.subarray(0, count)));
    }
    if (closed) return;
    if (heard) outbox.pump();
    else outbox.clear();
    timer = setTimeout(look, heard ? heardPollMilliseconds : unheardPollMilliseconds);
  };
  timer = setTimeout(look, 0);

  return {
    path,
    get heard() {
      return heard;
    },
    get droppedBytes() {
      return outbox.droppedBytes;
    },
    write(bytes) {
      if (heard && !closed) outbox.push(bytes);
    },
    close() {
      if (closed) return;
      closed = true;
      clearTimeout(timer);
      closeSync(master);
    },
  };
}
