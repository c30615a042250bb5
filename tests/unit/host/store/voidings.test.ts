import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { countingAssessment } from '../../../../src/host/store/assessments.ts';
import { canonicalJson } from '../../../../src/host/store/canonical-json.ts';
import { voidingDigest } from '../../../../src/host/store/chain.ts';
import { listTrials } from '../../../../src/host/store/read.ts';
import { readStudyRows } from '../../../../src/host/store/study-rows.ts';
import { verify } from '../../../../src/host/store/verify.ts';
import { readVoidings, storeVoiding } from '../../../../src/host/store/voidings.ts';
import { rosterOf } from '../../../../src/study/study-trial.ts';
import { temporaryFolder, trialName } from '../../../support/store/trial.ts';
import { alter } from '../../../support/store/altered-study.ts';

/** On a file that an earlier version wrote: a sealed, assessed trial, and one that is not sealed. */
const folder = temporaryFolder();
const path = join(folder.path, 'kept.chamberside');
const kept = fileURLToPath(new URL('../../../../fixtures/databases/study-1.sqlite', import.meta.url));
beforeEach(() => copyFileSync(kept, path));
afterAll(() => folder.remove());

const sealed = trialName(1);
const decide = (decision: 'void' | 'withdrawn', trial: string = sealed, reason = 'the hose had come off') =>
  storeVoiding(path, { trial, decision, person: 'rita', reason, program: '0.1.0' }, '2026-11-27T09:00:00.000Z');
const voidedOf = (): (string | null)[] => listTrials(path).map(({ voided }) => voided?.reason ?? null);
const version = (): unknown => {
  const file = new Database(path, { readonly: true });
  try {
    return file.pragma('user_version', { simple: true });
  } finally {
    file.close();
  }
};

describe('a sealed trial', () => {
  it('of a file from before is not void, and reading does not bring the file up to date', () => {
    expect(voidedOf()).toEqual([null, null]);
    expect(readVoidings(path, sealed)).toEqual([]);
    expect(readStudyRows(path).trials[0]?.voided).toBeNull();
    expect(version()).toBe(1);
  });

  it('is made void beside what was sealed, and no digest of it moves', () => {
    const before = verify(path);
    const assessed = countingAssessment(path, sealed);
    const made = decide('void');
    expect(made.trialHead).toBe(before.trials[0]?.head);
    expect(voidedOf()).toEqual(['the hose had come off', null]);
    const after = verify(path);
    expect(after).toMatchObject({ intact: true, sealHead: before.sealHead, trials: before.trials });
    expect(countingAssessment(path, sealed)).toEqual(assessed);
  });

  it('that is void is in no figure of its study, and counts again when that is taken back', () => {
    const leftOut = (): unknown => rosterOf(readStudyRows(path).trials)[0]?.leftOut;
    expect(leftOut()).toBeNull();
    decide('void');
    expect(leftOut()).toBe('void');
    decide('withdrawn', sealed, 'it was another trial');
    expect(leftOut()).toBeNull();
    expect(readVoidings(path, sealed).map(({ decision }) => decision)).toEqual(['void', 'withdrawn']);
  });

  it.each([
    ['twice', () => (decide('void'), decide('void')), 'action-refused'],
    ['back that is not void', () => decide('withdrawn'), 'action-refused'],
    ['that is not sealed', () => decide('void', trialName(2)), 'trial-not-finished'],
    ['that there is not', () => decide('void', trialName(7)), 'trial-not-found'],
    ['without a reason', () => decide('void', sealed, ' '), 'usage-bad-value'],
  ])('is refused %s', (_, work, code) => {
    expect(work).toThrowError(expect.objectContaining({ code }));
  });
});

describe('verify', () => {
  it.each([
    ['another reason', "UPDATE voiding SET json = replace(json, 'hose', 'nose')", 'voiding-altered'],
    ['another trial', `UPDATE voiding SET trial = '${trialName(2)}' WHERE number = 1`, 'voiding-altered'],
    ['a decision that is gone', 'DELETE FROM voiding WHERE number = 1', 'voiding-missing'],
    ['the last decision that is gone', 'DELETE FROM voiding WHERE number = 2', 'voiding-missing'],
    ['a trial that is not there', `UPDATE voiding SET trial = '${trialName(9)}' WHERE number = 2`, 'trial-missing'],
  ])('finds %s', (_, sql, code) => {
    decide('void');
    decide('withdrawn');
    alter(path, (file) => file.exec(sql));
    expect(verify(path).findings.map((finding) => finding.code)).toContain(code);
  });

  const swap = `UPDATE voiding SET json = (SELECT json FROM voiding AS other WHERE other.number = 3 - voiding.number),
    digest = (SELECT digest FROM voiding AS other WHERE other.number = 3 - voiding.number)`;
  const copy = `UPDATE voiding SET json = (SELECT json FROM voiding WHERE number = 1),
    digest = (SELECT digest FROM voiding WHERE number = 1) WHERE number = 3`;
  it.each([
    ['decisions that changed places', swap, 'changes nothing'],
    ['a decision that stands twice', copy, 'number 1 once more'],
  ])('finds %s, each with its own digest', (_, sql, text) => {
    decide('void');
    decide('withdrawn');
    if (sql === copy) decide('void', sealed, 'it was that trial after all');
    expect(verify(path).intact).toBe(true);
    alter(path, (file) => file.exec(sql));
    const found = verify(path, sealed).findings.filter(({ code }) => code === 'voiding-altered');
    expect(found.map((finding) => finding.text).join(' ')).toContain(text);
  });

  it('finds a decision that is about another end of its trial', () => {
    const { trialHead, ...made } = decide('void');
    const json = canonicalJson({ ...made, trialHead: trialHead.replace(/^./, (first) => (first === '0' ? '1' : '0')) });
    alter(path, (file) => file.prepare('UPDATE voiding SET json = ?, digest = ?').run(json, voidingDigest(json)));
    expect(verify(path).findings.map(({ text }) => text).join(' ')).toContain('does not end as it did');
  });

  it('has a void trial stay void in a file whose version was set back, and misses the table where it is gone', () => {
    decide('void');
    alter(path, (file) => file.pragma('user_version = 1'));
    expect(voidedOf()).toEqual(['the hose had come off', null]);
    expect(verify(path).findings.map(({ code }) => code)).toContain('schema-altered');
    const file = new Database(path);
    file.exec('ALTER TABLE voiding RENAME TO gone');
    file.close();
    expect(verify(path, sealed).findings.map(({ code }) => code)).toContain('voiding-missing');
  });

  it('says what it does not cover of them', () => {
    expect(verify(path).notCovered.join(' ')).toContain('make a trial void');
  });
});
