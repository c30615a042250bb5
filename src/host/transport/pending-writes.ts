/**
 * Writes that the operating system has not taken yet. Closing waits for them a little, because the last bytes may
 * be the ones that make things safe, but never long, because the other end may be dead.
 */
export interface PendingWrites {
  /** @returns what to call when this write is done, well or not. */
  begin(): () => void;
  /** Resolves when none is pending, or after the limit. */
  settled(limitMilliseconds: number): Promise<void>;
}

export function createPendingWrites(): PendingWrites {
  let count = 0;
  let wake: (() => void) | undefined;
  return {
    begin() {
      count += 1;
      let done = false;
      return () => {
        if (done) return;
        done = true;
        count -= 1;
        if (count === 0) wake?.();
      };
    },
    settled(limitMilliseconds) {
      if (count === 0) return Promise.resolve();
      return new Promise((resolve) => {
        const timer = setTimeout(resolve, limitMilliseconds);
        wake = () => {
          clearTimeout(timer);
          resolve();
        };
      });
    },
  };
}

/** How long closing waits for pending writes, ms. */
export const closingLimitMilliseconds = 500;
