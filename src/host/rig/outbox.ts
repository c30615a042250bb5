/**
 * Bytes on their way to a program that may not read. Bounded, because the rig must go on whatever the program does:
 * when it is full the oldest chunk is given up, as on a serial line whose buffer overruns.
 */
export interface Outbox {
  /** Given up so far, bytes. */
  readonly droppedBytes: number;
  readonly waitingBytes: number;
  /** Takes bytes and sends what can be sent now. */
  push(bytes: Uint8Array): void;
  /** Sends what can be sent now. */
  pump(): void;
  /** Forgets what waits; not counted as dropped. */
  clear(): void;
}

export interface OutboxOptions {
  /** Most bytes that wait, > 0. Default 65536. */
  readonly limitBytes?: number;
  /** Sends from the start of `bytes` without blocking; returns how many were taken, 0 for none at present. */
  readonly send: (bytes: Uint8Array) => number;
}

export function createOutbox(options: OutboxOptions): Outbox {
  const limitBytes = options.limitBytes ?? 65_536;
  let waiting: Uint8Array[] = [];
  let waitingBytes = 0;
  let droppedBytes = 0;

  const pump = (): void => {
    let first = waiting[0];
    while (first !== undefined) {
      const taken = options.send(first);
      waitingBytes -= taken;
      if (taken < first.length) {
        waiting[0] = first.subarray(taken);
        return;
      }
      waiting.shift();
      first = waiting[0];
    }
  };

  return {
    get droppedBytes() {
      return droppedBytes;
    },
    get waitingBytes() {
      return waitingBytes;
    },
    push(bytes) {
      if (bytes.length === 0) return;
      waiting.push(bytes.slice());
      waitingBytes += bytes.length;
      pump();
      while (waitingBytes > limitBytes) {
        const oldest = waiting.shift() as Uint8Array;
        waitingBytes -= oldest.length;
        droppedBytes += oldest.length;
      }
    },
    pump,
    clear() {
      waiting = [];
      waitingBytes = 0;
    },
  };
}
