import { existsSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { encodeGuardFrame } from '../../safety/guard/frame.ts';
import { guardAddressSchema, guardReportSchema } from '../../safety/guard/messages.ts';
import type { GuardAddress, GuardReport, ToGuard } from '../../safety/guard/messages.ts';
import { addressEnding, clearGuardAddress, connectGuard, guardFilePrefix } from './start-guard.ts';

const reportsEnding = '.reports.jsonl';
/** How long a guard may take to finish and end: three tries on each instrument of a line, ms. */
const endLimitMilliseconds = 10_000;

/** What an earlier host's guards did and nobody has recorded yet. */
export interface LeftReports {
  readonly reports: readonly GuardReport[];
  /** Removes them from the folder: they stand in a record. */
  forget(report: string): void;
}

function parseLine<Result>(text: string, schema: { safeParse(data: unknown): { data?: Result } }): Result | undefined {
  try {
    return schema.safeParse(JSON.parse(text)).data;
  } catch {
    return undefined;
  }
}

/** Asks a guard that runs on to finish, to give its ports back and to end; resolves when it has, or is not there. */
async function takeBack(address: GuardAddress): Promise<void> {
  const socket = await connectGuard(address).catch(() => null);
  if (socket === null) return;
  const message: ToGuard = { say: 'hello', token: address.token, purpose: 'take-back', duties: [], restFirst: false };
  await new Promise<void>((resolve) => {
    const limit = setTimeout(resolve, endLimitMilliseconds);
    socket.on('error', () => undefined);
    socket.once('close', () => {
      clearTimeout(limit);
      resolve();
    });
    // It hangs up when every port is free.
    socket.resume();
    socket.write(encodeGuardFrame({ frame: 'message', message }));
  });
  socket.destroy();
}

/**
 * Takes the ports back from guards that an earlier host left in this folder, and reads what they did. The folder
 * belongs to this host: whoever started them is gone.
 */
export async function readLeftGuards(folder: string): Promise<LeftReports> {
  const names = existsSync(folder) ? readdirSync(folder).filter((file) => file.startsWith(guardFilePrefix)) : [];
  const read = (file: string): string => readFileSync(join(folder, file), 'utf8');
  await Promise.all(
    names
      .filter((file) => file.endsWith(addressEnding))
      .map(async (file) => {
        const address = parseLine(read(file), guardAddressSchema);
        if (address !== undefined) await takeBack(address);
        clearGuardAddress(join(folder, file), address);
      }),
  );
  // Only now: a guard that was still at work has written since.
  const files = new Map<string, Map<string, GuardReport>>();
  for (const file of readdirSync(folder)) {
    if (!file.startsWith(guardFilePrefix) || !file.endsWith(reportsEnding)) continue;
    const reports = read(file).split('\n').flatMap((line) => parseLine(line, guardReportSchema) ?? []);
    files.set(join(folder, file), new Map(reports.map((report) => [report.report, report])));
  }
  return {
    reports: [...files.values()].flatMap((reports) => [...reports.values()]),
    forget(report) {
      for (const [path, reports] of files) {
        // What else a file holds is kept in memory until its turn comes; the file goes with the last of them.
        if (reports.delete(report) && reports.size === 0) rmSync(path, { force: true });
      }
    },
  };
}
