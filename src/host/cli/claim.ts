import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { z } from 'zod';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { storageError } from '../store/database.ts';
import { acquireLock } from '../store/lease.ts';

/** A folder that belongs to this host until it is released, or the process ends, however it ends. */
export interface FolderClaim {
  release(): void;
}

/** Who holds a folder, for the message to the one who comes second. */
const holderSchema = z.object({ processId: z.number().int(), machine: z.string(), since: z.string() });

const holderFile = (folder: string): string => join(folder, 'host.json');

/**
 * Takes a folder for one host: two would each write the laboratory file and offer the same trials. The lock is the
 * operating system's, so a host that was killed leaves none; the file beside it only says who has it.
 * @throws ChambersideError `folder-in-use` with the process that has it.
 */
export function claimFolder(folder: string, since: string): FolderClaim {
  const lock = locked(folder);
  const holder: z.infer<typeof holderSchema> = { processId: process.pid, machine: hostname(), since };
  writeFileSync(holderFile(folder), `${JSON.stringify(holder)}\n`);
  return {
    release() {
      rmSync(holderFile(folder), { force: true });
      lock.release();
    },
  };
}

function locked(folder: string): FolderClaim {
  try {
    return acquireLock(join(folder, 'host'));
  } catch (error) {
    if (!isChambersideError(error, 'study-in-use')) throw storageError(error, folder);
    const holder = readHolder(folder);
    const who =
      holder === null
        ? 'Another host works in this folder'
        : `The host of process ${holder.processId} on ${holder.machine} works in this folder since ${holder.since}`;
    const remedy = 'Use its window, end it with Ctrl-C in its terminal, or give another --folder.';
    throw new ChambersideError('folder-in-use', who, folder, remedy, error);
  }
}

function readHolder(folder: string): z.infer<typeof holderSchema> | null {
  try {
    return holderSchema.parse(JSON.parse(readFileSync(holderFile(folder), 'utf8')));
  } catch {
    return null;
  }
}
