import { existsSync, readdirSync, rmSync, statSync } from 'node:fs';
import { statfs } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import { studyEnding } from '../compute/study-jobs.ts';

export const laboratoryFile = 'laboratory.chamberside-laboratory';
const passingTruth = /^virtual-rig\..+\.truth$/;

/** A study of the folder by the name of its file. @throws ChambersideError `file-not-found`. */
export function studyPath(folder: string, file: string): string {
  const path = join(folder, file);
  // A name is no path: what lies outside of the folder is not this host's to touch.
  if (basename(file) !== file || !file.endsWith(studyEnding) || !existsSync(path)) {
    throw new ChambersideError(
      'file-not-found',
      'there is no such study in the folder',
      file,
      'Read the folder again.',
    );
  }
  return path;
}

/** Where a virtual rig keeps its truth while no trial has given it a name. */
export function passingTruthPath(folder: string, name: string): string {
  return join(folder, `virtual-rig.${name}.truth`);
}

/** Removes what a host that was killed left of them; the names that trials gave stay. */
export function clearPassingTruths(folder: string): void {
  if (!existsSync(folder)) return;
  for (const file of readdirSync(folder)) {
    const path = join(folder, file);
    if (passingTruth.test(file) && statSync(path).isFile()) rmSync(path, { force: true });
  }
}

/** Null where the system does not say. */
export async function freeBytes(folder: string): Promise<number | null> {
  try {
    const { bavail, bsize } = await statfs(folder);
    return bavail * bsize;
  } catch {
    return null;
  }
}
