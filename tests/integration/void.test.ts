import { copyFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { verify } from '../../src/host/store/verify.ts';
import { readVoidings } from '../../src/host/store/voidings.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { chambersideWithInput, temporaryFolder } from '../support/command-line.ts';
import { trialName } from '../support/store/trial.ts';

/** A reviewer makes a trial of a file from before void, by the command line. */
const folder = temporaryFolder();
const study = folder.file('study.chamberside');
const laboratory = folder.file('laboratory.chamberlab');
const trial = trialName(1);

beforeAll(async () => {
  copyFileSync(fileURLToPath(new URL('../../fixtures/databases/study-1.sqlite', import.meta.url)), study);
  const file = openLaboratory(laboratory, { create: true });
  await file.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' });
  await file.addPerson({ code: 'otto', name: 'Otto', roles: ['operator'], pin: '0815' });
  file.close();
});
afterAll(() => folder.clear());

const decide = (pin: string, person: string, ...words: string[]) => {
  const about = ['--study', study, '--trial', trial, '--laboratory', laboratory, '--person', person];
  return chambersideWithInput(`${pin}\n`, 'void', ...about, ...words);
};

describe('chamberside void', () => {
  it('is refused to somebody who is no reviewer, and without a reason', async () => {
    const refused = await decide('0815', 'otto', '--reason', 'I did not like it');
    expect([refused.status, refused.stderr]).toEqual([1, expect.stringContaining('role-missing')]);
    const without = ['void', '--study', study, '--trial', trial, '--laboratory', laboratory, '--person', 'rita'];
    expect((await chambersideHere(...without)).status).toBe(2);
    expect(readVoidings(study, trial)).toEqual([]);
  });

  it('makes it void: judge and compare leave it out and say so, and verify finds nothing wrong', async () => {
    const made = await decide('4711', 'rita', '--reason', 'the hose had come off');
    expect([made.status, made.stdout]).toEqual([0, expect.stringContaining('is void')]);
    const judged = await chambersideHere('judge', '--study', study, '--requirement', 'iso-13982-1', '--json');
    const { ensembles, void: voids } = JSON.parse(judged.stdout) as { ensembles: number; void: { reason: string }[] };
    expect([ensembles, voids.map(({ reason }) => reason)]).toEqual([0, ['the hose had come off']]);
    expect(judged.stderr).toContain('void by rita: the hose had come off');
    const compared = await chambersideHere('compare', '--study', study);
    expect([compared.status, compared.stdout]).toEqual([1, expect.stringContaining('void by rita')]);
    expect(verify(study).intact).toBe(true);
    const listed = await chambersideHere('void', '--study', study, '--trial', trial, '--list');
    expect(listed.stdout).toContain('the hose had come off');
    expect(listed.stdout + judged.stdout).not.toContain('4711');
  });
});
