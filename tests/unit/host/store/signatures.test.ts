import { spawnSync } from 'node:child_process';
import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { countingAssessment, listAssessments, storeAssessment } from '../../../../src/host/store/assessments.ts';
import { canonicalJson } from '../../../../src/host/store/canonical-json.ts';
import { signatureDigest } from '../../../../src/host/store/chain.ts';
import { openStudyForRecording } from '../../../../src/host/store/recorder.ts';
import { readSignatures, storeSignature } from '../../../../src/host/store/signatures.ts';
import { isSignedBy, keyFileOf, makeSigningKey, publicPem } from '../../../../src/host/store/signing-key.ts';
import { verify } from '../../../../src/host/store/verify.ts';
import { readStudyRows } from '../../../../src/host/store/study-rows.ts';
import { storeVoiding } from '../../../../src/host/store/voidings.ts';
import type { SignatureStep } from '../../../../src/model/signature.ts';
import { alter } from '../../../support/store/altered-study.ts';
import { independentlyVerify } from '../../../support/store/independent-verifier.ts';
import { definition, host, method, recordSecond, temporaryFolder, trialName } from '../../../support/store/trial.ts';

/** Two real trials, sealed and assessed, and one that is virtual, from a file of version 2. */
const folder = temporaryFolder();
const original = join(folder.path, 'original.chamberside');
const path = join(folder.path, 'signed.chamberside');
const old = join(folder.path, 'old.chamberside');
const kept = fileURLToPath(new URL('../../../../fixtures/databases/study-2.sqlite', import.meta.url));
const keyFile = keyFileOf(join(folder.path, 'laboratory'));
const key = makeSigningKey(keyFile);
const [first, second] = [trialName(1), trialName(2)];
const cells = [
  {
    ...{ exercise: 'walking', probe: 'ankle', dwellPosition: 1, windowPercent: 0.25, windowLowPercent: 0.2 },
    ...{ windowHighPercent: 0.3, exercisePercent: null, flags: [] },
  },
];
const named = { name: method.name, version: method.version };
const entry = { method, program: '0.1.0', details: null, cells };

beforeAll(async () => {
  const study = await openStudyForRecording({ path: original, create: { studyName: 'signed' }, hostId: host });
  for (const number of [1, 2]) {
    const planned = definition(study.identity.study, trialName(number));
    const trial = await study.createTrial({ ...planned, header: { ...planned.header, virtual: false } });
    recordSecond(trial, 0);
    if (number === 1) {
      await study.storeAssessment({ ...entry, trial: trialName(1) });
    }
    await trial.seal();
    await study.storeAssessment({ ...entry, trial: trialName(number) });
  }
  await study.close();
});
afterAll(() => folder.remove());
beforeEach(() => {
  copyFileSync(original, path);
  copyFileSync(kept, old);
});

let at = 0;
function sign(step: SignatureStep, person: string, about: { trial?: string; file?: string; index?: number } = {}) {
  const { file = path, index = -1, trial = first } = about;
  const assessment = listAssessments(file, trial).at(index)?.assessment ?? 'a-000000000000';
  at += 1;
  const asked = { trial, assessment, step, person, reason: `${step} it is`, program: '0.2.0', keyFile };
  return storeSignature(file, asked, `2026-11-27T09:00:${String(at % 60).padStart(2, '0')}.000Z`);
}
const release = (about: Parameters<typeof sign>[2] = {}) => {
  sign('assessed', 'anna', about);
  sign('reviewed', 'rita', about);
  return sign('released', 'rita', about);
};
const headOf = (trial: string): string => verify(path).trials.find((one) => one.trial === trial)?.head ?? '';
const badOf = (file = path): string[] =>
  verify(file)
    .findings.filter(({ severity }) => severity === 'bad')
    .map(({ code, text }) => `${code}: ${text}`);

describe('an assessment of a sealed trial', () => {
  it('is signed as assessed, reviewed and released, each in a chain with the one before', () => {
    const before = verify(path);
    const { signature, digest, keySignature } = release();
    expect(signature).toMatchObject({
      ...{ number: 3, step: 'released', restsOn: 2, rehearsal: false, key, trialHead: before.trials[0]?.head },
      voidings: { count: 0 },
      method: { name: method.name, version: 1 },
    });
    const all = readSignatures(path, first);
    expect(all.map((one) => one.signature.previous).slice(1)).toEqual(all.map((one) => one.digest).slice(0, -1));
    expect(isSignedBy(key, Buffer.from(canonicalJson(signature)), keySignature)).toBe(true);
    const after = verify(path);
    const { sealHead, trials } = before;
    expect(after).toMatchObject({ intact: true, sealHead, trials, signatureHead: digest });
    expect(after.releases).toMatchObject([{ number: 3, stands: true, holds: true, fingerprint: key.fingerprint }]);
  });

  it('is not signed, and nothing is taken back, on top of what whoever signs has not seen', () => {
    sign('assessed', 'anna');
    sign('reviewed', 'rita');
    const assessment = listAssessments(path, first).at(-1)?.assessment ?? '';
    const asked = { trial: first, assessment, person: 'rita', reason: 'a slip', program: '0.2.0', keyFile };
    for (const after of [null, 1, 3]) {
      expect(() => storeSignature(path, { ...asked, step: 'withdrawn', after })).toThrowError(/it is reviewed by rita/);
    }
    expect(storeSignature(path, { ...asked, step: 'withdrawn', after: 2 }).signature.restsOn).toBe(2);
  });

  it('is released of a trial that is made void afterwards, and verify says so', () => {
    release();
    expect(verify(path).releases).toMatchObject([{ stands: true, voided: null }]);
    storeVoiding(path, { trial: first, decision: 'void', person: 'rita', reason: 'a hose', program: '0.2.0' });
    const { intact, releases } = verify(path);
    expect([intact, releases[0]?.voided]).toEqual([true, expect.stringContaining('rita')]);
  });

  it('is not reviewed by who assessed it, nor out of order, nor without a reason or a key', () => {
    const refusal = (code: string) => expect.objectContaining({ code }) as Error;
    expect(() => sign('released', 'rita')).toThrowError(refusal('action-refused'));
    sign('assessed', 'anna');
    expect(() => sign('reviewed', 'anna')).toThrowError(refusal('action-refused'));
    expect(() => sign('reviewed', 'no code')).toThrowError(refusal('usage-bad-value'));
    sign('reviewed', 'rita');
    const assessment = listAssessments(path, first).at(-1)?.assessment ?? '';
    const asked = { trial: first, assessment, step: 'released' as const, person: 'rita', program: '0.2.0' };
    const none = { ...asked, reason: 'as agreed', keyFile: join(folder.path, 'none.pem') };
    expect(() => storeSignature(path, none)).toThrowError(refusal('key-not-found'));
    expect(() => storeSignature(path, { ...asked, reason: ' ', keyFile })).toThrowError(refusal('usage-bad-value'));
    expect(() => sign('released', 'rita', { index: 9 })).toThrowError(refusal('assessment-not-found'));
    expect(readSignatures(path).length).toBe(2);
  });

  it('is not reviewed by the reviewer who had it made', () => {
    const review = { person: 'rita', reason: 'a kink', leftOut: [] };
    storeAssessment(path, { ...entry, trial: first, review });
    sign('assessed', 'anna');
    expect(() => sign('reviewed', 'rita')).toThrowError(/had this assessment made/);
    sign('reviewed', 'otto');
    expect(verify(path).intact).toBe(true);
  });

  it('is not signed when it was made before the seal, or when the trial is void', () => {
    expect(() => sign('assessed', 'anna', { index: 0 })).toThrowError(/before the trial had come to its end/);
    storeVoiding(path, { trial: second, decision: 'void', person: 'rita', reason: 'wrong suit', program: '0.2.0' });
    expect(() => sign('assessed', 'anna', { trial: second })).toThrowError(/void by rita/);
  });

  it('of a virtual trial is a rehearsal, by no key; a file of version 2 is brought up to date by it', () => {
    const version = (): unknown => new Database(old, { readonly: true }).pragma('user_version', { simple: true });
    expect([readSignatures(old), version(), verify(old).signatureHead]).toEqual([[], 2, null]);
    const { signature, keySignature } = release({ file: old });
    expect(signature).toMatchObject({ rehearsal: true, key: null, voidings: { count: 2 } });
    expect([keySignature, version()]).toEqual(['', 3]);
    expect(badOf(old)).toEqual([]);
    expect(verify(old).releases).toMatchObject([{ rehearsal: true, holds: null, stands: true }]);
  });

  it('keeps what is taken back', () => {
    release();
    sign('withdrawn', 'rita');
    expect(readSignatures(path).map(({ signature }) => signature.step).at(-1)).toBe('withdrawn');
    expect(verify(path).releases).toMatchObject([{ stands: false }]);
    sign('released', 'otto');
    expect(verify(path).releases.map(({ stands }) => stands)).toEqual([false, true]);
    expect(badOf()).toEqual([]);
  });
});

describe('the result of a trial', () => {
  const result = (): unknown => countingAssessment(path, first)?.cells.map(({ windowPercent }) => windowPercent);
  const inStudy = (): unknown => readStudyRows(path).trials.map(({ cells: all }) => all?.map(({ percent }) => percent));
  const again = (percent: number) =>
    storeAssessment(path, { ...entry, trial: first, cells: cells.map((one) => ({ ...one, windowPercent: percent })) });

  it('is the released assessment, whatever is assessed afterwards, until another is released', () => {
    release();
    again(0.5);
    expect([result(), inStudy()]).toEqual([[0.25], [[0.25], [0.25]]]);
    expect(readStudyRows(path).trials.map(({ released }) => released?.person)).toEqual(['rita', undefined]);
    sign('assessed', 'anna');
    sign('reviewed', 'otto');
    expect(result()).toEqual([0.25]);
    sign('released', 'otto');
    expect([result(), inStudy()]).toEqual([[0.5], [[0.5], [0.25]]]);
    again(0.75);
    sign('withdrawn', 'rita', { index: -2 });
    expect([result(), inStudy()]).toEqual([[0.75], [[0.75], [0.25]]]);
    expect(badOf()).toEqual([]);
  });

  it('is never another one where the released one is not there', () => {
    release({ index: 1 });
    again(0.5);
    const { assessment } = countingAssessment(path, first) ?? {};
    const where = `WHERE assessment = '${assessment}'`;
    alter(path, (file) => file.exec(`UPDATE assessment SET assessment = 'a-000000000009' ${where}`));
    for (const read of [result, inStudy]) {
      expect(read).toThrowError(expect.objectContaining({ code: 'file-damaged' }));
    }
  });
});

describe('verify', () => {
  it.each([
    ['an altered reason', "UPDATE signature SET json = replace(json, 'assessed it', 'guessed it')", 'its digest'],
    ['a removed one', 'DELETE FROM signature WHERE number = 2', 'Signature number 2 is not there'],
    ['the last one removed', 'DELETE FROM signature WHERE number = 6', 'Signature number 6 is not there'],
    ['all removed', 'DELETE FROM signature', 'Signature number 1 is not there'],
    ['one moved to another trial', `UPDATE signature SET trial = '${second}' WHERE number = 3`, 'about another trial'],
    ['one moved to another place', 'UPDATE signature SET number = 9 WHERE number = 6', 'stands in another place'],
    ['a key signature taken away', "UPDATE signature SET key_signature = ''", 'did not sign it'],
    ['one of another', 'UPDATE signature SET key_signature = (SELECT max(key_signature) FROM signature)', 'key'],
    ['two exchanged', `UPDATE signature SET number = number + 90; UPDATE signature SET number =
      CASE number WHEN 92 THEN 3 WHEN 93 THEN 2 ELSE number - 90 END`, 'stands in another place'],
    ['its assessment gone', 'DELETE FROM cell; DELETE FROM assessment', 'which was signed, is not there'],
    ['its trial unsealed', 'DELETE FROM seal', 'the seal of the trial'],
  ])('finds %s', (_, sql, text) => {
    release();
    release({ trial: second });
    expect([badOf(), independentlyVerify(path).signatures]).toEqual([[], 6]);
    alter(path, (file) => file.exec(sql));
    expect(badOf().join('\n')).toContain(text);
    expect(() => independentlyVerify(path)).toThrow();
  });

  it('finds a decision of before that is gone, and one that was put in behind its back', () => {
    const decided = { trial: second, person: 'rita', reason: 'wrong suit', program: '0.2.0' };
    storeVoiding(path, { ...decided, decision: 'void' });
    release();
    expect(badOf()).toEqual([]);
    alter(path, (file) => file.exec('DELETE FROM voiding; UPDATE study SET voidings = 0'));
    expect(badOf().join()).toContain('decisions that trials are void');
  });

  it.each([
    ['the same person', (statement: object) => ({ ...statement, person: 'anna' }), 'cannot review it'],
    ['a later step', (statement: object) => ({ ...statement, step: 'released' }), 'released'],
    ['an assessment that is another', (one: object) => ({ ...one, assessmentDigest: '0'.repeat(64) }), 'not what was'],
    ['a rehearsal', (statement: object) => ({ ...statement, rehearsal: true }), 'real data a rehearsal'],
    ['another study', (statement: object) => ({ ...statement, study: 's-000000000000' }), 'of another study'],
    ['the same person in capitals', (statement: object) => ({ ...statement, person: 'Anna' }), 'cannot review it'],
    ['the end of another trial', (one: object) => ({ ...one, trialHead: headOf(second) }), 'does not end as it did'],
    ['another trial', (statement: object) => ({ ...statement, trial: second }), 'about another trial'],
    ['more than there is to say', (statement: object) => ({ ...statement, approved: true }), 'not in canonical form'],
    ['another method', (one: object) => ({ ...one, method: { ...named, digest: '0'.repeat(64) } }), 'not what was'],
  ])('finds a signature that was written with its digests and says %s', (_, change, text) => {
    sign('assessed', 'anna');
    const { signature } = sign('reviewed', 'rita');
    const json = canonicalJson(change(signature));
    const digest = signatureDigest(json);
    alter(path, (file) => {
      file.prepare('UPDATE signature SET json = ?, digest = ? WHERE number = 2').run(json, digest);
      file.prepare('UPDATE study SET signature_head = ?').run(digest);
    });
    expect(badOf().join()).toContain(text);
    expect(() => independentlyVerify(path)).toThrow();
  });

  it('finds a virtual trial that was written as a real one', () => {
    const { signature } = sign('assessed', 'anna', { file: old });
    expect(independentlyVerify(old).signatures).toBe(1);
    const json = canonicalJson({ ...signature, rehearsal: false });
    const digest = signatureDigest(json);
    alter(old, (file) => {
      file.prepare('UPDATE signature SET json = ?, digest = ?').run(json, digest);
      file.prepare('UPDATE study SET signature_head = ?').run(digest);
    });
    expect(badOf(old).join()).toContain('virtual data as real');
    expect(() => independentlyVerify(old)).toThrow('rehearsal');
  });

  it('is not needed for a release: the commands that the format gives do it with other tools', () => {
    release();
    const format = readFileSync(new URL('../../../../docs/formats/chain.md', import.meta.url), 'utf8');
    const commands = [...format.matchAll(/^ {4}((?:sqlite3|openssl) .*)$/gm)].map(([, command = '']) => command);
    expect(commands.length).toBe(3);
    const missing = ['sqlite3', 'openssl'].filter((tool) => spawnSync(tool, ['version']).error !== undefined);
    if (missing.length > 0) {
      console.log(`Not tried for want of ${missing.join(' and ')}: ${commands.join('; ')}`);
      return;
    }
    writeFileSync(join(folder.path, 'public.pem'), publicPem(key));
    const asked = (number: number) =>
      commands.map((one) => {
        const command = one.replace('FILE', path).replace('= N', `= ${number}`).replace('PUBLIC.pem', 'public.pem');
        const { status, stdout } = spawnSync('sh', ['-c', command], { cwd: folder.path, encoding: 'utf8' });
        return `${status} ${stdout.trim()}`;
      });
    expect(asked(3)).toEqual(['0 ', '0 ', '0 Signature Verified Successfully']);
    alter(path, (file) => file.exec("UPDATE signature SET json = replace(json, 'released it', 'released xx')"));
    expect(asked(3).at(-1)).toContain('1 Signature Verification Failure');
  });

  it('cannot find the last ones cut off together with the study row, but its head is another', () => {
    release();
    const { signatureHead } = verify(path);
    const last = readSignatures(path).at(-2)?.digest ?? '';
    alter(path, (file) => {
      file.exec('DELETE FROM signature WHERE number = 3');
      file.prepare('UPDATE study SET signatures = 2, signature_head = ?').run(Buffer.from(last, 'hex'));
    });
    expect(badOf()).toEqual([]);
    expect([verify(path).signatureHead, verify(path).releases]).toEqual([last, []]);
    expect(last).not.toBe(signatureHead);
  });

  it('finds a release that somebody without the key has rewritten, digests and all', () => {
    const { signature } = release();
    const json = canonicalJson({ ...signature, person: 'otto' });
    const digest = signatureDigest(json);
    alter(path, (file) => {
      file.prepare('UPDATE signature SET json = ?, digest = ? WHERE number = 3').run(json, digest);
      file.prepare('UPDATE study SET signature_head = ?').run(digest);
    });
    expect(badOf()).toEqual(['signature-altered: Signature number 3: the key that it names did not sign it.']);
    expect(verify(path).releases).toMatchObject([{ holds: false }]);
  });

  it('misses them where the table is gone, and says what it does not cover of them', () => {
    release();
    const file = new Database(path);
    file.exec('ALTER TABLE signature RENAME TO gone');
    file.close();
    expect(verify(path, first).findings.map(({ code }) => code)).toContain('signature-missing');
    expect(verify(path).notCovered.join(' ')).toContain('who sat at the keyboard');
    expect(readFileSync(path).includes('PRIVATE KEY')).toBe(false);
  });
});
