/**
 * The program-side half that every transport shares: one listener for bytes, one report of the end.
 *
 * Bytes that arrive before the listener is set are held with their stamps and handed over, in order, in a promise
 * job after it is set, ahead of anything newer. An end is told in a promise job too: never inside a call of the
 * listener's owner, and also to a listener that is set after it. Bytes after the end are dropped.
 */
export interface Receiver {
  readonly ended: boolean;
  /** @returns false when nobody listens and more than the limit is held: the owner should end the connection. */
  deliver(bytes: Uint8Array, atMicroseconds: number): boolean;
  /** Only the first reason counts. */
  end(reason: string): void;
  onBytes(listener: (bytes: Uint8Array, atMicroseconds: number) => void): void;
  onClose(listener: (reason: string) => void): void;
}

/** Bytes held for a listener that does not come. */
const heldLimitBytes = 1_048_576;

export function createReceiver(): Receiver {
  let byteListener: ((bytes: Uint8Array, atMicroseconds: number) => void) | undefined;
  let closeListener: ((reason: string) => void) | undefined;
  let held: { bytes: Uint8Array; atMicroseconds: number }[] = [];
  let heldBytes = 0;
  let handingOver = false;
  let endReason: string | undefined;

  const handOver = (): void => {
    handingOver = false;
    const chunks = held;
    held = [];
    heldBytes = 0;
    for (const chunk of chunks) byteListener?.(chunk.bytes, chunk.atMicroseconds);
  };

  const tellEnd = (): void => {
    const listener = closeListener;
    const reason = endReason;
    if (listener === undefined || reason === undefined) return;
    closeListener = undefined;
    listener(reason);
  };

  return {
    get ended() {
      return endReason !== undefined;
    },
    deliver(bytes, atMicroseconds) {
      if (endReason !== undefined) return true;
      if (byteListener !== undefined && !handingOver) {
        byteListener(bytes, atMicroseconds);
        return true;
      }
      held.push({ bytes, atMicroseconds });
      heldBytes += bytes.length;
      return heldBytes <= heldLimitBytes;
    },
    end(reason) {
      if (endReason !== undefined) return;
      endReason = reason;
      queueMicrotask(tellEnd);
    },
    onBytes(listener) {
      byteListener = listener;
      if (held.length === 0 || handingOver) return;
      handingOver = true;
      queueMicrotask(handOver);
    },
    onClose(listener) {
      closeListener = listener;
      if (endReason !== undefined) queueMicrotask(tellEnd);
    },
  };
}

/** Said when bytes pile up because the owner of a transport never set a listener. */
export const unheardReason = 'bytes arrived and nothing listens to them';
