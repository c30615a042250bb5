import { renameSync, rmSync, writeFileSync } from 'node:fs';
import type { GuardReport } from '../safety/guard/messages.ts';
import type { ReportBook } from './guard.ts';

/**
 * Reports in a file, one line of JSON each, so that the next host finds them whatever becomes of this process; no file
 * while there are none. A disk that refuses keeps no load from being set to zero.
 */
export function openReportBook(path: string): ReportBook {
  const reports = new Map<string, GuardReport>();
  const keep = (): void => {
    try {
      if (reports.size === 0) {
        rmSync(path, { force: true });
        return;
      }
      const text = [...reports.values()].map((report) => `${JSON.stringify(report)}\n`).join('');
      writeFileSync(`${path}.new`, text, { mode: 0o600 });
      renameSync(`${path}.new`, path);
    } catch (error) {
      process.stderr.write(`the guard cannot write ${path}: ${String(error)}\n`);
    }
  };
  return {
    write(report) {
      reports.set(report.report, report);
      keep();
    },
    forget(noted) {
      for (const report of noted) reports.delete(report);
      keep();
    },
  };
}
