import type { Cancel, Timers } from '../../src/device/timers.ts';

/** Cuts bytes into frames that end where their length says, or where nothing came for a while. */
export interface FrameReceiver {
  /** Bytes that are neither in a frame nor set aside so far. */
  readonly pendingBytes: number;
  receive(bytes: Uint8Array, atMicroseconds: number): void;
  /** What is pending belongs to nothing that is still to come: sets it aside. */
  flush(): void;
  /** Flushes, takes no more bytes, leaves no timer. Safe to call twice. */
  end(): void;
}

export interface FrameReceiverOptions {
  readonly timers: Timers;
  /** Nothing came for so long: what is pending will not become a frame any more, µs, > 0. */
  readonly silenceMicroseconds: number;
  /** Longest frame, bytes. More than that is never pending. */
  readonly longestFrame: number;
  /** Length of a frame that begins at `from`; null: none begins there; undefined: too few bytes to tell. */
  readonly lengthAt: (bytes: Uint8Array, from: number) => number | null | undefined;
  /** Is this part of the bytes, of that length, a whole frame (its check sum is right)? */
  readonly isWhole: (bytes: Uint8Array, from: number, to: number) => boolean;
  /** A frame, with the stamp of the bytes that completed it. */
  readonly onFrame: (frame: Uint8Array, atMicroseconds: number) => void;
  /** Bytes that belong to no frame, with the stamp of the last of them. */
  readonly onSetAside: (bytes: Uint8Array, atMicroseconds: number) => void;
}

/**
 * A frame is taken as soon as it is complete. Bytes before a complete frame (a line that was switched on, the tail of
 * something else) are set aside, and those that complete none go when the line falls silent. While a frame that began
 * first may still be completed, none inside it is looked for.
 *
 * Silence is only ever counted upwards of what the line itself needs: an adapter hands bytes over in lumps, and a gap
 * between two lumps is no gap on the line.
 */
export function createFrameReceiver(options: FrameReceiverOptions): FrameReceiver {
  const { timers, silenceMicroseconds, longestFrame, lengthAt, isWhole, onFrame, onSetAside } = options;
  let pending = new Uint8Array(0);
  let lastAt = 0;
  let cancelSilence: Cancel | undefined;
  let ended = false;

  const setAside = (count: number): void => {
    if (count === 0) return;
    const bytes = pending.slice(0, count);
    pending = pending.slice(count);
    onSetAside(bytes, lastAt);
  };

  /** @param silent nothing that is incomplete will be completed. */
  const scan = (silent: boolean): void => {
    let from = 0;
    while (from < pending.length && !ended) {
      const length = lengthAt(pending, from);
      const isOpen = length === undefined || (length !== null && from + length > pending.length);
      if (isOpen && !silent) return;
      if (length != null && !isOpen && isWhole(pending, from, from + length)) {
        setAside(from);
        const frame = pending.slice(0, length);
        // State is complete before the listener is called: it may begin something new, or end everything.
        pending = pending.slice(length);
        onFrame(frame, lastAt);
        from = 0;
      } else {
        from += 1;
      }
    }
  };

  const fallSilent = (): void => {
    cancelSilence?.();
    cancelSilence = undefined;
    scan(true);
    setAside(pending.length);
  };

  const watchSilence = (): void => {
    cancelSilence?.();
    cancelSilence = pending.length === 0 ? undefined : timers.after(silenceMicroseconds, fallSilent);
  };

  return {
    get pendingBytes() {
      return pending.length;
    },
    receive(bytes, atMicroseconds) {
      if (ended || bytes.length === 0) return;
      lastAt = atMicroseconds;
      for (let from = 0; from < bytes.length; from += longestFrame) {
        const piece = bytes.subarray(from, from + longestFrame);
        const joined = new Uint8Array(pending.length + piece.length);
        joined.set(pending);
        joined.set(piece, pending.length);
        pending = joined;
        scan(false);
        if (pending.length > longestFrame) {
          scan(true);
          // The end may be the beginning of a frame; what is before it is none.
          setAside(Math.max(0, pending.length - longestFrame));
        }
      }
      watchSilence();
    },
    flush: fallSilent,
    end() {
      if (ended) return;
      fallSilent();
      ended = true;
      pending = new Uint8Array(0);
    },
  };
}
