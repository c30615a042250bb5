import { rename, rm, writeFile } from 'node:fs/promises';
import type { GuardReport } from '../safety/guard/messages.ts';
import type { ReportBook } from './guard.ts';

/**
 * Reports in a file, one line of JSON each, so that the next host finds them whatever becomes of this process; no file
 * while there are none. A disk that refuses or hangs keeps no load from being set to zero: nothing is written in the
 * turn in which it is asked for, in which drivers send, and nobody waits for it. One after the other, in order.
 */
export function openReportBook(path: string): ReportBook {
  const reports = new Map<string, GuardReport>();
  let writing = Promise.resolve();
  const keep = async (): Promise<void> => {
    await new Promise<void>((resolve) => void setImmediate(resolve));
    try {
      if (reports.size === 0) {
        await rm(path, { force: true });
        return;
      }
      const text = [...reports.values()].map((report) => `${JSON.stringify(report)}\n`).join('');
      await writeFile(`${path}.new`, text, { mode: 0o600 });
      await rename(`${path}.new`, path);
    } catch (error) {
      process.stderr.write(`the guard cannot write ${path}: ${String(error)}\n`);
    }
  };
  return {
    write(report) {
      reports.set(report.report, report);
      writing = writing.then(keep);
    },
    forget(noted) {
      for (const report of noted) reports.delete(report);
      writing = writing.then(keep);
    },
    settled: () => writing,
  };
}
