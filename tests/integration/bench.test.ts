import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { compareRuns } from '../bench/compare.ts';
import { parseRun, runText, type Row } from '../bench/row.ts';
import { temporaryFolder } from '../support/command-line.ts';

const root = join(import.meta.dirname, '../..');
/** What `beforeAll` builds. */
const bench = join(root, 'build/out/bench/bench.js');
const folder = temporaryFolder();
const names = [
  ...['ingest', 'store', 'read-back', 'bridge-frame', 'redraw'],
  ...['assessment', 'monte-carlo', 'rehearsal', 'start-up', 'study-opening'],
];
let rows: Row[] = [];

function node(...words: string[]): { status: number | null; stdout: string; stderr: string } {
  return spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8' });
}

function kept(name: string, run: readonly Row[]): string {
  writeFileSync(folder.file(name), runText(run));
  return folder.file(name);
}

/** The run with one ratio changed. */
function changed(stage: string, factor: number): Row[] {
  return rows.map((row) => (row.stage === stage ? { ...row, ratio: row.ratio * factor } : row));
}

beforeAll(() => {
  const run = node('build/bench.mjs', '--tiny', '--json', '--out', folder.file('run.json'));
  if (run.status !== 0) throw new Error(`the bench ended with ${run.status}: ${run.stderr}`);
  rows = parseRun(run.stdout, 'standard output');
}, 300_000);
afterAll(() => folder.clear());

describe('the bench', () => {
  it('measures both sides of every stage', () => {
    expect(rows.map(({ stage }) => stage)).toEqual(names);
    for (const { stage, floor, product, ratio, target } of rows) {
      expect(Math.abs(ratio / (product / floor) - 1), stage).toBeLessThan(0.01);
      expect(target, stage).toBeGreaterThan(1);
      // So little is measured that compiling counts; beyond this a unit or a count is wrong.
      expect(ratio, stage).toBeGreaterThan(0.02);
      expect(ratio, stage).toBeLessThan(500);
    }
  });

  it('keeps the run that it prints', () => {
    expect(parseRun(readFileSync(folder.file('run.json'), 'utf8'), 'the file')).toEqual(rows);
  });

  it('says what a wrong command line should have been', () => {
    const unknown = node(bench, '--stage', 'nonsense');
    expect(unknown.status).toBe(2);
    expect(unknown.stderr).toContain("There is no stage 'nonsense'; there are ingest, store");
  });
});

describe('the comparison with a stored run', () => {
  const worse = (current: readonly Row[]): string[] =>
    compareRuns(rows, current).flatMap((one) => (one.worse ? [one.stage] : []));

  it('passes a ratio that is the same, a little worse, or better', () => {
    expect(worse(rows)).toEqual([]);
    expect(worse(changed('store', 1.3))).toEqual([]);
    expect(worse(changed('store', 0.3))).toEqual([]);
  });

  it('fails a ratio that has grown by more than a third, and a stage that is no longer measured', () => {
    expect(worse(changed('read-back', 1.35))).toEqual(['read-back']);
    expect(worse(rows.filter(({ stage }) => stage !== 'redraw'))).toEqual(['redraw']);
  });

  it('ends with 0 on the same run', () => {
    const stored = kept('stored.json', rows);
    const same = node(bench, 'compare', stored, '--with', stored);
    expect(same.stdout).not.toContain('WORSE');
    expect(same.status).toBe(0);
  });

  it('ends with 1 on a run that is worse, and names the stage', () => {
    const stored = kept('stored.json', rows);
    const outcome = node(bench, 'compare', stored, '--with', kept('worse.json', changed('read-back', 1.35)));
    expect(outcome.status).toBe(1);
    expect(outcome.stdout).toMatch(/^read-back .* WORSE$/m);
    expect(outcome.stdout).toMatch(/^store .* good$/m);
  });

  it('says what is wrong with a stored run', () => {
    const missing = node(bench, 'compare', folder.file('nowhere.json'));
    expect(missing.status).toBe(1);
    expect(missing.stderr).toContain('Make a run with npm run bench -- --out FILE');
    expect(() => parseRun('[{"stage":"ingest"}]', 'broken.json')).toThrow('broken.json is no run: 0.floor');
    expect(() => parseRun('', 'empty.json')).toThrow('empty.json is no run');
  });

  it('has a run of every stage to begin with', () => {
    const path = join(root, 'fixtures/bench/stored-run.json');
    expect(parseRun(readFileSync(path, 'utf8'), path).map(({ stage }) => stage)).toEqual(names);
  });
});
