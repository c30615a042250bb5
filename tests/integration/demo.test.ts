import { existsSync, statSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import type { DemoTrial } from '../../src/host/rehearsal/demo-study.ts';
import { readStudyRows } from '../../src/host/store/study-rows.ts';
import { chamberside, chambersideJson, temporaryFolder } from '../support/command-line.ts';
import { rehearse } from '../support/rehearsal.ts';

const folder = temporaryFolder();
afterAll(folder.clear);

describe('demo', () => {
  it('makes a study of rehearsed trials, sealed and assessed, which verifies and compares', async () => {
    const study = folder.file('demo.chamberside');
    const { trials } = await chambersideJson<{ trials: DemoTrial[] }>(
      ...['demo', '--out', study, '--seed', '3', '--subjects', '1'],
    );
    expect(trials.map(({ subject, ensemble, scenario, seed }) => [subject, ensemble, scenario, seed])).toEqual([
      ['S01', 'One-piece', 'demo', 3000],
      ['S01', 'Two-piece', 'laminate', 3001],
    ]);
    const rows = readStudyRows(study);
    expect(rows.trials.map(({ trial }) => trial)).toEqual(trials.map(({ trial }) => trial));
    const whole = { virtual: true, sealed: true, requirementPercent: 1 };
    for (const trial of rows.trials) expect(trial).toMatchObject(whole);
    // Many times as much comes in at the hood of the two-piece, by its scenario.
    const hood = rows.trials.map(({ cells }) => {
      const own = (cells ?? []).filter(({ probe }) => probe === 'hood');
      return own.reduce((sum, { percent }) => sum + (percent ?? Number.NaN), 0) / own.length;
    });
    expect((hood[1] ?? 0) / (hood[0] ?? 0)).toBeGreaterThan(3);
    expect((await chamberside('verify', '--study', study)).status).toBe(0);
    expect((await chamberside('compare', '--study', study)).status).toBe(0);

    // The same physics as a rehearsal of that scenario and seed: nothing is drawn beside the seed.
    const again = await rehearse(folder.file('again.chamberside'), '--scenario', 'laminate', '--seed', '3001');
    const percents = again.cells.map(({ windowPercent }) => windowPercent);
    expect(percents).toEqual(rows.trials[1]?.cells?.map(({ percent }) => percent));
  });

  it('never writes over a file, and says what is wrong before it begins', async () => {
    const study = folder.file('demo.chamberside');
    const { size } = statSync(study);
    const taken = await chamberside('demo', '--out', study);
    expect(taken.status).toBe(1);
    expect(taken.stderr).toMatch(/file-exists/);
    expect(statSync(study).size).toBe(size);
    const wrong = folder.file('wrong.chamberside');
    expect((await chamberside('demo', '--out', wrong, '--subjects', '0')).status).toBe(2);
    expect((await chamberside('demo')).status).toBe(2);
    expect(existsSync(wrong)).toBe(false);
  });
});
