import { writeFileSync } from 'node:fs';
import { getPriority, setPriority } from 'node:os';

/** How much nicer a window is than the host. Drawing is a heavy worker, and nothing is lost when a frame is late. */
export const windowNiceness = 10;
const nicest = 19;

/**
 * Lets a process that was just started in a session of its own, and all that it starts, give way to this one: it
 * draws, while this one switches ports. Nothing is done where the system forbids it; only promptness depends on it.
 * @returns its rank from now on, or null where nothing was done.
 */
export function rankBelow(processId: number, platform: NodeJS.Platform = process.platform): number | null {
  try {
    const rank = Math.min(nicest, getPriority() + windowNiceness);
    setPriority(processId, rank);
    // Linux may weigh sessions first, and processes only within theirs.
    if (platform === 'linux') rankSession(processId);
    return rank;
  } catch {
    return null;
  }
}

function rankSession(processId: number): void {
  try {
    writeFileSync(`/proc/${processId}/autogroup`, String(windowNiceness));
  } catch {
    // A kernel that does not weigh by sessions has no such file.
  }
}
