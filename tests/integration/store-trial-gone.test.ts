import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Finding } from '../../src/host/store/contract.ts';
import { verify } from '../../src/host/store/verify.ts';
import { independentlyVerify } from '../support/store/independent-verifier.ts';
import { alter as alterFile, makeStudy } from '../support/store/altered-study.ts';
import { temporaryFolder, trialName } from '../support/store/trial.ts';

/** Each test alters a copy. */
const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');
const path = join(folder.path, 'altered.chamberside');

beforeAll(() => makeStudy(original));
afterAll(() => folder.remove());
beforeEach(() => copyFileSync(original, path));

const alter = (work: (file: Database.Database) => void): void => alterFile(path, work);

function bad(): Finding[] {
  const report = verify(path);
  expect(report.intact).toBe(false);
  return report.findings.filter((finding) => finding.severity === 'bad');
}

/** Digest of a seal of the untouched study, hexadecimal. */
function sealDigest(seal: number): string {
  const file = new Database(original, { readonly: true });
  try {
    const row = file.prepare<[number], { digest: Buffer }>('SELECT digest FROM seal WHERE seal = ?').get(seal);
    return row?.digest.toString('hex') ?? 'none';
  } finally {
    file.close();
  }
}

describe('a trial that is gone', () => {
  const removeTrial = (file: Database.Database, number: number): void => {
    for (const table of ['link', 'chunk', 'wire', 'event', 'frozen'])
      file.exec(`DELETE FROM ${table} WHERE trial = ${number}`);
    file.exec(`DELETE FROM trial WHERE number = ${number}`);
  };

  it.each([1, 2, 3])('is named by its seal: the whole of trial %i', (number) => {
    alter((file) => removeTrial(file, number));
    expect(bad()).toContainEqual(expect.objectContaining({ code: 'trial-missing', trial: trialName(number) }));
    expect(() => independentlyVerify(path)).toThrow('is missing');
  });

  it('with its seal, in the middle, is told by its neighbours and by what its report prints', () => {
    alter((file) => {
      removeTrial(file, 2);
      file.exec('DELETE FROM seal WHERE seal = 2');
    });
    const digest = sealDigest(2);
    const [seal, trial, ...others] = bad();
    expect(others).toEqual([]);
    // Nothing in the file says which it was; between which it stood, and what its report prints, it does say.
    expect(seal).toMatchObject({ code: 'seal-missing', trial: null });
    expect(seal?.text).toMatch(
      new RegExp(
        `^Seal 2 of the study is not there\\. What it sealed was sealed after ${trialName(1)} \\(.+Z\\) and before ` +
          `${trialName(3)} \\(.+Z\\)\\. The report of that trial prints this as the head of the seals: ${digest}\\.$`,
      ),
    );
    expect(trial).toMatchObject({ code: 'trial-missing', trial: null });
    expect(trial?.text).toMatch(
      new RegExp(
        '^1 trial\\(s\\) that no seal and no assessment names are not there\\. Missing among the trials: number 2, ' +
          `begun after ${trialName(1)} \\(.+Z\\) and before ${trialName(3)} \\(.+Z\\)\\.$`,
      ),
    );
  });

  it('with its seal is named by an assessment that is still there', () => {
    alter((file) => {
      removeTrial(file, 1);
      file.exec('DELETE FROM seal WHERE seal = 1');
    });
    expect(bad()).toEqual([
      expect.objectContaining({ code: 'seal-missing', text: expect.stringContaining('Seal 1') as string }),
      expect.objectContaining({ code: 'trial-missing', trial: trialName(1) }),
    ]);
  });

  it('with its seal, at the end, is told while the study row is as it was', () => {
    alter((file) => {
      removeTrial(file, 3);
      file.exec('DELETE FROM seal WHERE seal = 3');
    });
    const found = bad().find(({ code }) => code === 'seal-missing');
    expect(found?.text).toContain('end of the chain');
    expect(found?.text).toMatch(new RegExp(`after ${trialName(2)} \\(.+Z\\)\\. `));
    expect(found?.text).toContain(sealDigest(3));
  });
});
