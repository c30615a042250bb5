const firstMilliseconds = [200, 400, 800, 1500] as const;

/** For so long nothing has listened at the window's address: its host has ended. A host that hangs refuses nobody. */
export const hostGoneMilliseconds = 30_000;
/** How often a window of such a host still looks: it may be there again, and nobody is kept from anything. */
export const goneRetryMilliseconds = 15_000;

/**
 * How long to wait before the next attempt, ms.
 * @param attempt number of the attempt that has failed, from 0
 * @param refusedForMilliseconds for how long every attempt has been refused
 */
export function retryAfter(attempt: number, refusedForMilliseconds: number): number {
  if (refusedForMilliseconds >= hostGoneMilliseconds) return goneRetryMilliseconds;
  return firstMilliseconds[Math.min(attempt, firstMilliseconds.length - 1)] ?? 0;
}
