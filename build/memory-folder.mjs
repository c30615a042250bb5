import { statfsSync } from 'node:fs';

/** Where Linux keeps files in memory. */
const folder = '/dev/shm';
const leastBytes = 4e9;

/**
 * The environment of tests whose files may lie in memory: what they ask of a disk they ask of the file system, and
 * waiting for a real one to have every commit takes a third of their time. Where there is no room in memory, nothing
 * is changed.
 * @returns {Record<string, string>}
 */
export function inMemory() {
  try {
    const { bavail, bsize } = statfsSync(folder);
    return bavail * bsize >= leastBytes ? { TMPDIR: folder } : {};
  } catch {
    return {};
  }
}
