import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createGuardFrameReader, encodeGuardFrame } from '../../safety/guard/frame.ts';
import { fromGuardSchema, guardAddressSchema, guardReportSchema } from '../../safety/guard/messages.ts';
import type { GuardAddress, GuardReport, ToGuard } from '../../safety/guard/messages.ts';
import { addressEnding, clearGuardAddress, connectGuard, guardFilePrefix } from './start-guard.ts';

const reportsEnding = '.reports.jsonl';
/** How long a guard may take to finish and end, ms: three tries of the longest time-out of a load (10 s). */
const endLimitMilliseconds = 45_000;

/** What an earlier host's guards did and nobody has recorded yet. */
export interface LeftReports {
  readonly reports: readonly GuardReport[];
  /** Removes it from the folder: it stands in a record. Also that of a guard of this host which has ended since. */
  forget(report: string): void;
}

function parseLine<Result>(text: string, schema: { safeParse(data: unknown): { data?: Result } }): Result | undefined {
  try {
    return schema.safeParse(JSON.parse(text)).data;
  } catch {
    return undefined;
  }
}

/** It may just have gone by itself. */
function endByForce(processId: number): void {
  try {
    process.kill(processId, 'SIGKILL');
  } catch {
    // Then it holds no port.
  }
}

/**
 * Asks a guard that runs on to finish, to give its ports back and to end; one that does not is ended by force, because
 * it holds the ports.
 * @returns false when it has a living host, and stays.
 */
async function takeBack(address: GuardAddress): Promise<boolean> {
  const socket = await connectGuard(address).catch(() => null);
  if (socket === null) return true;
  const read = createGuardFrameReader();
  let stays = false;
  const message: ToGuard = { say: 'hello', token: address.token, purpose: 'take-back', duties: [], restFirst: false };
  await new Promise<void>((resolve) => {
    const limit = setTimeout(() => {
      endByForce(address.processId);
      resolve();
    }, endLimitMilliseconds);
    socket.on('error', () => undefined);
    socket.on('data', (chunk: Buffer) => {
      for (const frame of read(new Uint8Array(chunk)) ?? []) {
        const said = frame.frame === 'message' ? fromGuardSchema.safeParse(frame.message).data : undefined;
        if (said?.say === 'refused') stays = true;
      }
    });
    socket.once('close', () => {
      clearTimeout(limit);
      resolve();
    });
    // It hangs up when every port is free.
    socket.write(encodeGuardFrame({ frame: 'message', message }));
  });
  socket.destroy();
  return !stays;
}

/** A file that is gone, or cannot be written, stays as it is: its reports are then told once more. */
function takeOut(path: string, report: string): void {
  try {
    const rest = readFileSync(path, 'utf8')
      .split('\n')
      .filter((line) => line !== '' && parseLine(line, guardReportSchema)?.report !== report);
    if (rest.length === 0) rmSync(path, { force: true });
    else writeFileSync(path, rest.map((line) => `${line}\n`).join(''), { mode: 0o600 });
  } catch {
    // It happens where the record is acknowledged, which must not fail for this.
  }
}

/**
 * Takes the ports back from guards that an earlier host left in this folder, and reads what they did. The folder
 * belongs to this host: whoever started them is gone.
 */
export async function readLeftGuards(folder: string): Promise<LeftReports> {
  const names = existsSync(folder) ? readdirSync(folder).filter((file) => file.startsWith(guardFilePrefix)) : [];
  const read = (file: string): string => readFileSync(join(folder, file), 'utf8');
  const staying = new Set<string>();
  await Promise.all(
    names
      .filter((file) => file.endsWith(addressEnding))
      .map(async (file) => {
        const address = parseLine(read(file), guardAddressSchema);
        if (address !== undefined && !(await takeBack(address))) {
          staying.add(file.slice(0, -addressEnding.length));
          return;
        }
        clearGuardAddress(join(folder, file), address);
      }),
  );
  // Only now: a guard that was still at work has written since.
  const files = new Map<string, Map<string, GuardReport>>();
  for (const file of readdirSync(folder)) {
    if (!file.startsWith(guardFilePrefix) || !file.endsWith(reportsEnding)) continue;
    if (staying.has(file.slice(0, -reportsEnding.length))) continue;
    const reports = read(file).split('\n').flatMap((line) => parseLine(line, guardReportSchema) ?? []);
    files.set(join(folder, file), new Map(reports.map((report) => [report.report, report])));
  }
  return {
    reports: [...files.values()].flatMap((reports) => [...reports.values()]),
    forget(report) {
      for (const [path, reports] of files) {
        // What else a file holds is kept in memory until its turn comes; the file goes with the last of them.
        if (!reports.delete(report)) continue;
        if (reports.size === 0) rmSync(path, { force: true });
        return;
      }
      const guard = join(folder, report.slice(0, report.lastIndexOf('-')));
      // A guard that is there does it itself.
      if (!existsSync(`${guard}${addressEnding}`)) takeOut(`${guard}${reportsEnding}`, report);
    },
  };
}
