import { getPriority, setPriority } from 'node:os';

/** How much nicer a thread that computes is than one that reads ports. A tenth of its share when both want a core. */
const niceness = 10;
const nicest = 19;

/**
 * Lets the calling thread give way to those that read ports and switch them: where they want a core, it waits. Only
 * Linux ranks threads; elsewhere the call would rank the whole process, ports and all.
 * @returns the rank of the thread from now on, or null where nothing was done.
 */
export function giveWay(platform: NodeJS.Platform = process.platform): number | null {
  if (platform !== 'linux') return null;
  try {
    const rank = Math.min(nicest, getPriority() + niceness);
    setPriority(rank);
    return rank;
  } catch {
    // Some containers forbid it. Nothing but promptness depends on it.
    return null;
  }
}
