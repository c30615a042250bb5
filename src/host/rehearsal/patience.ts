/** How long a disk may refuse without a success in between. */
export interface Patience {
  /** It refused. @returns true when that has lasted long enough to give up. */
  refused(): boolean;
  /** It took something: patience begins anew. */
  succeeded(): void;
}

/** @param now real time, ms. */
export function createPatience(now: () => number, milliseconds: number): Patience {
  let since: number | null = null;
  return {
    refused() {
      since ??= now();
      return now() - since >= milliseconds;
    },
    succeeded() {
      since = null;
    },
  };
}
