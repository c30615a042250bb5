import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { openReportBook } from '../../../src/guard/report-book.ts';
import type { GuardReport } from '../../../src/safety/guard/messages.ts';
import { temporaryFolder } from '../../support/command-line.ts';

it('writes reports in order, and not in the turn in which the drivers send', async () => {
  const folder = temporaryFolder();
  const path = join(folder.path, 'load-guard-1.reports.jsonl');
  const book = openReportBook(path);
  const report: GuardReport = { report: 'one', at: '', why: 'silence', trial: null, done: false, acts: [] };
  book.write(report);
  // As far as a driver's command gets without the loop going on.
  for (let step = 0; step < 50; step += 1) await Promise.resolve();
  expect(existsSync(`${path}.new`) || existsSync(path)).toBe(false);
  book.write({ ...report, done: true });
  book.write({ ...report, report: 'two' });
  await book.settled();
  const written = readFileSync(path, 'utf8').trim().split('\n');
  expect(written.map((line) => JSON.parse(line) as unknown)).toMatchObject([
    { report: 'one', done: true },
    { report: 'two', done: false },
  ]);
  book.forget(['one', 'two']);
  await book.settled();
  expect(existsSync(path)).toBe(false);
  folder.clear();
});

it('goes on without a disk', async () => {
  const book = openReportBook('/nowhere/at/all');
  book.write({ report: 'one', at: '', why: 'silence', trial: null, done: true, acts: [] });
  await expect(book.settled()).resolves.toBeUndefined();
});
