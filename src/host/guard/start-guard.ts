import { spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { createConnection } from 'node:net';
import type { Socket } from 'node:net';
import { basename, dirname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { ChambersideError } from '../../model/error-code.ts';
import { guardAddressSchema } from '../../safety/guard/messages.ts';
import type { GuardAddress } from '../../safety/guard/messages.ts';

/** How long a guard may take to start, ms. */
const startLimitMilliseconds = 20_000;

/** A guard that runs, and a connection to it on which nothing was said yet. */
export interface StartedGuard {
  readonly address: GuardAddress;
  readonly socket: Socket;
  /** Ends it by force; for one that does not answer. */
  kill(): void;
  /** Removes where it was to be found, after it was lost. Its reports stay. */
  clear(): void;
}

/** Ending of the file with the address. */
export const addressEnding = '.address.json';
const socketFolderPrefix = 'chamberside-guard-';

/** Removes the address of a guard that is gone, and the folder of its socket. */
export function clearGuardAddress(path: string, address: GuardAddress | undefined): void {
  rmSync(path, { force: true });
  const folder = dirname(address?.socket ?? '');
  if (basename(folder).startsWith(socketFolderPrefix)) rmSync(folder, { recursive: true, force: true });
}

/** Names of what a guard leaves in its folder, without their endings. */
export const guardFilePrefix = 'load-guard-';

/** From source the guard's file through tsx, from a bundle the sibling bundle. */
function command(): string[] {
  const here = import.meta.url;
  if (!here.endsWith('.ts')) return [fileURLToPath(new URL('./guard-process.js', here))];
  const loader = pathToFileURL(createRequire(here).resolve('tsx')).href;
  return ['--import', loader, fileURLToPath(new URL('../../guard/guard-process.ts', here))];
}

export function guardFailure(what: string, cause?: unknown): ChambersideError {
  return new ChambersideError(
    'guard-failed',
    what,
    'guard of the loads',
    'Close the rig and open it again. Until then bring loads to zero by hand.',
    cause,
  );
}

/** @throws whatever the system says when nobody listens there. */
export function connectGuard({ socket }: GuardAddress): Promise<Socket> {
  return new Promise((resolve, reject) => {
    const connection = createConnection(socket);
    connection.once('error', reject);
    connection.once('connect', () => {
      connection.off('error', reject);
      connection.setNoDelay(true);
      resolve(connection);
    });
  });
}

/**
 * Starts a guard in a process group of its own, so that neither the end of this process nor Ctrl-C in its terminal
 * reaches it.
 * @param folder in which it leaves its address and its reports.
 * @throws ChambersideError `guard-failed` with what the process said.
 */
export async function startGuard(folder: string): Promise<StartedGuard> {
  const name = `${guardFilePrefix}${randomBytes(6).toString('hex')}`;
  const child = spawn(process.execPath, [...command(), folder, name], {
    detached: true,
    stdio: ['ignore', 'pipe', 'pipe'],
    // In the desktop program this process is no plain Node, and its program starts as one only when told so.
    env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
  });
  const kill = (): void => void child.kill('SIGKILL');
  let said = '';
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    said = (said + text).slice(-4_000);
  });
  try {
    const line = await new Promise<string>((resolve, reject) => {
      const fail = (what: string): void => reject(guardFailure(said.trim() === '' ? what : `${what}: ${said.trim()}`));
      const limit = setTimeout(() => fail('it did not start in time'), startLimitMilliseconds);
      child.once('error', (error) => fail(`it could not be started: ${error.message}`));
      child.once('exit', (code, signal) => fail(`it ended at once (${signal ?? `exit ${String(code)}`})`));
      createInterface({ input: child.stdout }).once('line', (text) => {
        clearTimeout(limit);
        resolve(text);
      });
    });
    const address = guardAddressSchema.parse(JSON.parse(line));
    const socket = await connectGuard(address);
    // It is no child that anybody waits for.
    child.unref();
    for (const stream of [child.stdout, child.stderr]) (stream as Partial<Socket>).unref?.();
    return { address, socket, kill, clear: () => clearGuardAddress(join(folder, `${name}${addressEnding}`), address) };
  } catch (error) {
    kill();
    throw error instanceof ChambersideError ? error : guardFailure(`it cannot be reached: ${String(error)}`, error);
  }
}
