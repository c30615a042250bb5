import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseRun, runText, type Row } from '../bench/row.ts';
import { temporaryFolder } from '../support/command-line.ts';

const root = join(import.meta.dirname, '../..');
const folder = temporaryFolder();
const names = [
  ...['ingest', 'store', 'read-back', 'bridge-frame', 'redraw'],
  ...['assessment', 'rehearsal', 'start-up', 'study-opening'],
];
let rows: Row[] = [];

function node(...words: string[]): { status: number | null; stdout: string; stderr: string } {
  return spawnSync(process.execPath, words, { cwd: root, encoding: 'utf8' });
}

/** The comparison alone, with the bench that `beforeAll` has built. */
function compare(...words: string[]) {
  return node(join(root, 'build/out/bench/bench.js'), 'compare', ...words);
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
}, 180_000);
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
    const unknown = node(join(root, 'build/out/bench/bench.js'), '--stage', 'nonsense');
    expect(unknown.status).toBe(2);
    expect(unknown.stderr).toContain("There is no stage 'nonsense'; there are ingest, store");
    expect(node(join(root, 'build/out/bench/bench.js'), '--jsn').status).toBe(2);
  });
});

describe('the comparison with a stored run', () => {
  it('passes on the same run, and on one that is a little worse', () => {
    const stored = kept('stored.json', rows);
    expect(compare(stored, '--with', stored).status).toBe(0);
    expect(compare(stored, '--with', kept('a-little.json', changed('store', 1.3))).status).toBe(0);
    expect(compare(stored, '--with', kept('better.json', changed('store', 0.3))).status).toBe(0);
  });

  it('fails on a ratio that has grown by more than a third, and names the stage', () => {
    const worse = compare(kept('stored.json', rows), '--with', kept('worse.json', changed('read-back', 1.35)));
    expect(worse.status).toBe(1);
    expect(worse.stdout).toMatch(/read-back .* WORSE/);
    expect(worse.stdout).not.toMatch(/store .* WORSE/);
  });

  it('fails on a stage that is no longer measured', () => {
    const without = rows.filter(({ stage }) => stage !== 'redraw');
    const fewer = compare(kept('stored.json', rows), '--with', kept('fewer.json', without));
    expect(fewer.status).toBe(1);
    expect(fewer.stdout).toMatch(/redraw .* none .* WORSE/);
  });

  it('compares one stage alone', () => {
    const worse = kept('worse.json', changed('read-back', 1.35));
    expect(compare(kept('stored.json', rows), '--with', worse, '--stage', 'ingest').status).toBe(0);
  });

  it('says what is wrong with a file', () => {
    const missing = compare(folder.file('nowhere.json'));
    expect(missing.status).toBe(1);
    expect(missing.stderr).toContain('Make a run with npm run bench -- --out FILE');
    writeFileSync(folder.file('broken.json'), '[{"stage":"ingest"}]');
    const broken = compare(folder.file('broken.json'));
    expect(broken.status).toBe(1);
    expect(broken.stderr).toContain('0.floor');
  });

  it('has a run of every stage to begin with', () => {
    const path = join(root, 'fixtures/bench/stored-run.json');
    expect(parseRun(readFileSync(path, 'utf8'), path).map(({ stage }) => stage)).toEqual(names);
  });
});
