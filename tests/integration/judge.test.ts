import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/study/judge.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';
import { makeStudyFile } from '../support/study/made-study.ts';
import { rehearse, type PrintedRehearsal } from '../support/rehearsal.ts';

const folder = temporaryFolder();
const study = folder.file('judged.chamberside');
let rehearsal: PrintedRehearsal;
beforeAll(async () => {
  rehearsal = await rehearse(study, '--seed', '12', '--speed', '500');
});
afterAll(folder.clear);

/** A requirement file with one limit on the overall mean. */
function rule(limitPercent: number, exactly = 1, valuesPerEnsemble = 50): string {
  const file = folder.file(`rule-${limitPercent}.json`);
  writeFileSync(
    file,
    JSON.stringify({
      name: 'house-rule',
      title: 'House rule',
      edition: '2026',
      source: 'quality manual',
      basis: 'text',
      ensembles: { exactly },
      valuesPerEnsemble,
      rules: [{ rule: 'overall-mean', limitPercent, equality: 'passes' }],
    }),
  );
  return file;
}

describe('judge', () => {
  it('passes and fails by the mean of the stored values, and says what the verdict rests on', async () => {
    const values = rehearsal.cells.map(({ windowPercent }) => windowPercent ?? Number.NaN);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    expect(values).toHaveLength(50);
    expect(mean).toBeGreaterThan(0);

    const above = await chamberside('judge', '--study', study, '--file', rule(Number((mean * 1.01).toFixed(6))));
    expect(above.status).toBe(0);
    expect(above.stdout).toMatch(/\nPASSED – .*virtual rig: no result of a real ensemble/);
    expect(above.stdout).not.toMatch(/from memory/);

    const below = await chamberside('judge', '--study', study, '--file', rule(Number((mean * 0.99).toFixed(6))));
    expect(below.status).toBe(1);
    expect(below.stdout).toMatch(/\nFAILED – /);
  });

  it('evaluates no rank of ten ensembles from one, and carries the doubt about the source', async () => {
    const result = await chamberside('judge', '--study', study, '--requirement', 'iso-13982-1', '--json');
    expect(result.status).toBe(1);
    const verdict = JSON.parse(result.stdout) as Verdict;
    expect(verdict.verdict).toBe('not-evaluated');
    expect(verdict.rules[0]?.because).toMatch(/10 ensembles are asked for, and there are 1/);
    expect(verdict.doubts[0]).toBe('from memory: verify against the standard');
  });

  it('says with the verdict which trial rests on an overdue check, and which a reviewer had assessed', async () => {
    const made = folder.file('made.chamberside');
    const about = { seed: 4, subjects: 1, ensembles: ['A'], virtual: true, name: 'Made' };
    await makeStudyFile({ ...about, path: made, repeats: 2, overdue: [1], reviewed: [2] });
    const judged = await chamberside('judge', '--study', made, '--file', rule(90, 2, 10));
    expect(judged.status).toBe(0);
    const last = judged.stdout.trimEnd().split('\n').at(-1);
    expect(last).toMatch(/^PASSED – /);
    expect(last).toMatch(/t-000000000001 rests on a check that was overdue or had failed: dilution, Ankle/);
    expect(last).toMatch(/t-000000000002 counts as the reviewer rita had it assessed, 1 stretch left out/);
  });

  it('lists what ships', async () => {
    const listed = await chambersideJson<{ name: string }[]>('judge');
    expect(listed.map(({ name }) => name)).toContain('en-1073-2');
  });

  it('refuses what it cannot read, and says what to do', async () => {
    const bad = folder.file('bad.json');
    writeFileSync(bad, '{"name": "x"}');
    const wrong = await chamberside('judge', '--study', study, '--file', bad);
    expect(wrong.status).toBe(1);
    expect(wrong.stderr).toMatch(/configuration-invalid: .*rules/);
    writeFileSync(bad, '{');
    expect((await chamberside('judge', '--study', study, '--file', bad)).stderr).toMatch(/no JSON/);
    const missing = await chamberside('judge', '--study', study, '--file', folder.file('none.json'));
    expect(missing.stderr).toMatch(/file-not-found/);
    const unknown = await chamberside('judge', '--study', study, '--requirement', 'none');
    expect(unknown.status).toBe(2);
    expect(unknown.stderr).toMatch(/en-1073-2/);
    expect((await chamberside('judge', '--study', study)).status).toBe(2);
  });
});
