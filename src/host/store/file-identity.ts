import { statSync } from 'node:fs';

/**
 * Which file stands under a name: the same as long as it is neither deleted, moved nor replaced; null when none does.
 * It is only asked for, never opened: closing another handle of a file drops all locks of this process on it.
 */
export function identityOf(path: string): string | null {
  const status = statSync(path, { bigint: true, throwIfNoEntry: false });
  return status === undefined ? null : `${status.dev}:${status.ino}`;
}
