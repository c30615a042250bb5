import type { ControlLines } from '../../device/control-lines.ts';
import type { SimulatedControlLines } from '../../device/simulator.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Transport } from '../../device/transport.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { createReceiver } from './receiver.ts';

/** The instrument's end of an in-process cable. */
export interface InstrumentEnd {
  /** Towards the program; dropped after the cable is closed. */
  send(bytes: Uint8Array): void;
  /** Bytes from the program. One listener; bytes that arrive before it is set are lost, as on a real cable. */
  onBytes(listener: (bytes: Uint8Array) => void): void;
  /** The cable is gone, whichever end closed it. Called once. */
  onClose(listener: (reason: string) => void): void;
  /** The cable has control lines from now on, which the instrument's end answers for. */
  attachControlLines(lines: SimulatedControlLines): void;
  /** Pulls the cable. */
  close(reason?: string): void;
}

export interface InProcessOptions {
  /** From either end to the other, µs ≥ 0. Default 0. */
  readonly latencyMicroseconds?: number;
  /** Stamps arriving bytes; default: the clock itself. Given when the program counts another time than the rig. */
  readonly now?: () => number;
}

/**
 * A cable that exists only in memory.
 *
 * Rule of delivery: nothing is delivered inside the call that sends it. Every chunk is an event of its own on the
 * clock, `latencyMicroseconds` after it was sent, in order of sending, stamped when it is delivered. The end of the
 * cable is told to both ends in a promise job, not on the clock, so that a cable can be closed while the clock
 * stands still; chunks under way at that moment are lost.
 */
export function createInProcessPair(
  name: string,
  clock: Clock,
  options: InProcessOptions = {},
): { readonly program: Transport; readonly instrument: InstrumentEnd } {
  const latencyMicroseconds = options.latencyMicroseconds ?? 0;
  const now = options.now ?? clock.now;
  const toProgram = createReceiver();
  const underWay = new Set<Cancel>();
  let toInstrument: ((bytes: Uint8Array) => void) | undefined;
  let onInstrumentClose: ((reason: string) => void) | undefined;
  let closeReason: string | undefined;
  let lines: SimulatedControlLines | undefined;
  const looks = new Set<() => void>();

  const carry = (bytes: Uint8Array, arrive: (bytes: Uint8Array) => void): void => {
    if (closeReason !== undefined || bytes.length === 0) return;
    const copy = bytes.slice();
    const cancel = clock.after(latencyMicroseconds, () => {
      underWay.delete(cancel);
      arrive(copy);
    });
    underWay.add(cancel);
  };

  const close = (reason: string): void => {
    if (closeReason !== undefined) return;
    closeReason = reason;
    for (const cancel of underWay) cancel();
    underWay.clear();
    for (const giveUp of looks) giveUp();
    looks.clear();
    toProgram.end(reason);
    queueMicrotask(() => onInstrumentClose?.(reason));
  };

  /** What is asked of the instrument's end, there and back on the clock like a byte. */
  const look = <Result>(take: (from: SimulatedControlLines) => Result): Promise<Result> =>
    new Promise((resolve, reject) => {
      const refuse = (): void => {
        reject(
          new ChambersideError('transport-closed', `closed: ${closeReason ?? ''}`, `in-process ${name}`, 'Reconnect.'),
        );
      };
      const from = lines;
      if (closeReason !== undefined || from === undefined) {
        refuse();
        return;
      }
      const cancel = clock.after(latencyMicroseconds, () => {
        looks.delete(giveUp);
        resolve(take(from));
      });
      const giveUp = (): void => {
        cancel();
        refuse();
      };
      looks.add(giveUp);
    });
  const controlLines: ControlLines = {
    read: () => look((from) => ({ state: from.read(), atMicroseconds: now() })),
    set: (outputs) => look((from) => from.set(outputs)),
  };

  const program: Transport = {
    get controlLines() {
      return lines === undefined ? undefined : controlLines;
    },
    label: `in-process ${name}`,
    write: (bytes) => carry(bytes, (arrived) => toInstrument?.(arrived)),
    onBytes: toProgram.onBytes,
    onClose: toProgram.onClose,
    async close() {
      close('closed by the program');
      // Both ends have been told when this resolves.
      await Promise.resolve();
    },
  };

  const instrument: InstrumentEnd = {
    send: (bytes) => carry(bytes, (arrived) => toProgram.deliver(arrived, now())),
    onBytes(listener) {
      toInstrument = listener;
    },
    onClose(listener) {
      if (closeReason !== undefined) {
        const reason = closeReason;
        queueMicrotask(() => listener(reason));
      } else {
        onInstrumentClose = listener;
      }
    },
    attachControlLines(attached) {
      lines = attached;
    },
    close: (reason = 'the cable was pulled') => close(reason),
  };

  return { program, instrument };
}
