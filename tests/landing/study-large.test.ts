import { performance } from 'node:perf_hooks';
import { afterAll, expect, it } from 'vitest';
import { readStudySummary } from '../../src/host/compute/study-jobs.ts';
import { makeStudyReport } from '../../src/host/report/make-study-report.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { makeStudyFile } from '../support/study/made-study.ts';

const folder = temporaryFolder();
afterAll(folder.clear);

it('gathers a study of a thousand trials from summary rows in a second or so', async () => {
  const path = folder.file('thousand.chamberside');
  // With as much beside the cells as an assessment of ten exercises has.
  const about = { seed: 6, subjects: 250, ensembles: ['A', 'B'], repeats: 2, virtual: false, detailSize: 150_000 };
  await makeStudyFile({ ...about, path, name: 'Thousand' });
  const times = [1, 2, 3].map(() => {
    const before = performance.now();
    const { summary } = readStudySummary(path, 'thousand.chamberside');
    expect(summary.counts).toMatchObject({ trials: 1000, counted: 1000, subjects: 250 });
    return performance.now() - before;
  });
  console.log(`a thousand trials gathered in ${times.map((time) => time.toFixed(0)).join(', ')} ms`);
  // One second on an idle machine; loosely, because others work beside it.
  expect(Math.min(...times)).toBeLessThan(3000);
}, 120_000);

it('hands a study of a hundred trials over in ten seconds, and says how far it has come', async () => {
  const path = folder.file('hundred.chamberside');
  const about = { seed: 6, subjects: 25, ensembles: ['A', 'B'], repeats: 2, virtual: false, detailSize: 150_000 };
  await makeStudyFile({ ...about, path, name: 'Hundred' });
  const shares: number[] = [];
  for (const format of ['pdf', 'html'] as const) {
    const before = performance.now();
    const { bytes, counted } = await makeStudyReport(
      { path, format, program: '0.1.0', requirement: null },
      (step, share) => {
        if (step === 'walking') shares.push(share ?? -1);
      },
    );
    const seconds = (performance.now() - before) / 1000;
    console.log(`the report of a hundred trials as ${format}: ${seconds.toFixed(1)} s, ${bytes.length} bytes`);
    expect(counted).toBe(100);
    // Ten seconds on an idle machine; loosely, because others work beside it.
    expect(seconds).toBeLessThan(30);
  }
  expect(shares.length).toBeGreaterThan(100);
  expect(shares.every((share) => share >= 0 && share <= 1)).toBe(true);
}, 120_000);
