import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { verify } from '../../src/host/store/verify.ts';
import { definition, host, method, recordSecond, temporaryFolder, trialName } from '../support/store/trial.ts';

const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');

beforeAll(async () => {
  const study = await openStudyForRecording({ path: original, create: { studyName: 'a study' }, hostId: host });
  const trial = await study.createTrial(definition(study.identity.study, trialName(1)));
  for (let second = 0; second < 5; second += 1) recordSecond(trial, second);
  await trial.seal();
  const cell = { exercise: 'walking', probe: 'ankle', dwellPosition: 1, windowPercent: 1, flags: [] };
  const cells = [{ ...cell, windowLowPercent: null, windowHighPercent: null, exercisePercent: null }];
  await study.storeAssessment({ trial: trialName(1), method, program: '0.1.0', cells, details: null });
  await study.close();
});
afterAll(() => folder.remove());

/** A copy in which somebody who can write the file has changed a column, protecting triggers put back. */
function altered(name: string, statement: string): string {
  const path = join(folder.path, `${name}.chamberside`);
  copyFileSync(original, path);
  const connection = new Database(path);
  const triggers = connection
    .prepare<[], { name: string; sql: string }>("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    .all();
  for (const trigger of triggers) connection.exec(`DROP TRIGGER ${trigger.name}`);
  connection.pragma('foreign_keys = OFF');
  connection.exec(statement);
  for (const trigger of triggers) connection.exec(trigger.sql);
  connection.close();
  return path;
}

describe('columns that no honest program writes', () => {
  it('are not in the original', () => {
    expect(verify(original)).toMatchObject({ intact: true, findings: [] });
  });

  it.each([
    ['flags that are no JSON', "UPDATE cell SET flags = '[x'", 'assessment-altered'],
    ['a leakage without end', 'UPDATE cell SET window_percent = 9e999', 'assessment-altered'],
    ['another name of the method', "UPDATE assessment SET method_name = 'other'", 'assessment-altered'],
    ['another version of the method', 'UPDATE assessment SET method_version = 9', 'assessment-altered'],
    ['another digest of the method', "UPDATE assessment SET method_digest = x'00'", 'assessment-altered'],
    ['another head of the trial', "UPDATE assessment SET trial_head = x'01'", 'assessment-altered'],
    ['more seals than can be counted', 'UPDATE study SET seal_count = 1000000000', 'seal-missing'],
    ['a seal far away', 'UPDATE seal SET seal = 1000000000', 'seal-missing'],
    ['a link far away', 'UPDATE link SET link = 1000000000 WHERE link = 5', 'link-missing'],
  ])('%s: named, in bounded work', (name, statement, code) => {
    const begun = performance.now();
    const report = verify(altered(name.replaceAll(' ', '-'), statement));
    expect(report.intact).toBe(false);
    expect(report.findings.map((finding) => finding.code)).toContain(code);
    expect(report.findings.length).toBeLessThan(50);
    expect(performance.now() - begun).toBeLessThan(5000);
  });
});
