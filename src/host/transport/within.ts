import type { Timers } from '../../device/timers.ts';

/** What `waited` comes to, or `late` after so many seconds; what it comes to afterwards is nobody's. */
export async function within<Result, Late>(
  timers: Timers,
  seconds: number,
  waited: Promise<Result>,
  late: Late,
): Promise<Result | Late> {
  let cancel: (() => void) | undefined;
  const limit = new Promise<Late>((resolve) => {
    cancel = timers.after(seconds * 1_000_000, () => {
      resolve(late);
    });
  });
  try {
    return await Promise.race([waited, limit]);
  } finally {
    cancel?.();
  }
}
