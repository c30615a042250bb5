import { copyFileSync, mkdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { openStudyForRecording } from '../../src/host/store/recorder.ts';
import { readSignatures } from '../../src/host/store/signatures.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { chambersideWithInput, temporaryFolder } from '../support/command-line.ts';
import { alter } from '../support/store/altered-study.ts';
import { definition, host, method, recordSecond, trialName } from '../support/store/trial.ts';

/** Two people sign a trial by the command line, and another machine verifies it by the public key alone. */
const folder = temporaryFolder();
const study = folder.file('study.chamberside');
const laboratory = folder.file('laboratory.chamberside-laboratory');
const trial = trialName(1);

beforeAll(async () => {
  const file = openLaboratory(laboratory, { create: true });
  await file.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' });
  await file.addPerson({ code: 'otto', name: 'Otto', roles: ['operator'], pin: '0815' });
  file.close();
  const recorder = await openStudyForRecording({ path: study, create: { studyName: 'signed' }, hostId: host });
  const planned = definition(recorder.identity.study, trial);
  const recorded = await recorder.createTrial({ ...planned, header: { ...planned.header, virtual: false } });
  recordSecond(recorded, 0);
  await recorded.seal();
  await recorder.storeAssessment({ trial, method, program: '0.1.0', details: null, cells: [] });
  await recorder.close();
});
afterAll(() => folder.clear());

const sign = (step: string, person: string, pin: string, ...words: string[]) => {
  const about = ['--study', study, '--trial', trial, '--laboratory', laboratory, '--person', person];
  return chambersideWithInput(`${pin}\n`, 'sign', step, ...about, '--reason', 'as agreed', ...words);
};
const verified = (key: string) => chambersideHere('verify', '--study', study, '--laboratory-key', key);

describe('chamberside sign', () => {
  it('takes another person, by PIN, and a key; another machine tells whose it is', async () => {
    expect((await sign('assessed', 'otto', '4711')).stderr).toContain('pin-wrong');
    expect((await sign('assessed', 'otto', '0815')).status).toBe(0);
    expect((await sign('reviewed', 'otto', '0815')).stderr).toContain('role-missing');
    expect((await sign('reviewed', 'rita', '4711')).status).toBe(0);
    expect((await sign('released', 'rita', '4711')).stderr).toContain('key-not-found');
    const publicKey = folder.file('public.pem');
    const made = ['laboratory-key', '--laboratory', laboratory, '--make', '--public', publicKey];
    expect((await chambersideHere(...made)).status).toBe(0);
    expect((await verified(publicKey)).status).toBe(1);
    const released = await sign('released', 'rita', '4711', '--json');
    expect([released.status, JSON.parse(released.stdout)]).toMatchObject([0, { signature: { step: 'released' } }]);
    const told = await verified(publicKey);
    expect([told.status, told.stdout]).toEqual([0, expect.stringContaining('signed by this key')]);
    expect(told.stdout).toContain('who sat at the keyboard');
    expect(told.stdout).not.toContain('its result is by no key');
    const other = folder.file('other.pem');
    const elsewhere = join(dirname(laboratory), 'elsewhere');
    mkdirSync(elsewhere);
    const twin = join(elsewhere, 'laboratory');
    copyFileSync(laboratory, twin);
    await chambersideHere('laboratory-key', '--laboratory', twin, '--make', '--public', other);
    const foreign = await verified(other);
    expect([foreign.status, foreign.stdout]).toEqual([1, expect.stringContaining('SIGNED BY ANOTHER KEY')]);
    expect(readFileSync(study).includes('PRIVATE KEY')).toBe(false);
    expect((await chambersideHere('sign', 'list', '--study', study)).stdout).toContain('released by rita');
    const audited = await chambersideHere('audit', '--study', study, '--json');
    const { entries } = JSON.parse(audited.stdout) as { entries: { action: string; persons: string[] }[] };
    expect([audited.status, entries.map(({ action, persons }) => [action, ...persons].join(' '))]).toEqual([
      0,
      ['prepared anna', 'sealed', 'computed', 'assessed otto', 'reviewed rita', 'released rita'],
    ]);
  });

  it('refuses whoever would review what they assessed, and says what it would take', async () => {
    expect((await sign('withdrawn', 'rita', '4711')).status).toBe(0);
    expect((await sign('withdrawn', 'rita', '4711')).status).toBe(0);
    expect((await sign('withdrawn', 'rita', '4711')).status).toBe(0);
    expect((await sign('assessed', 'rita', '4711')).status).toBe(0);
    const refused = await sign('reviewed', 'rita', '4711');
    expect([refused.status, refused.stderr]).toEqual([1, expect.stringContaining('cannot review it')]);
    expect((await chambersideHere('sign', 'approved', '--study', study)).status).toBe(2);
    expect(readSignatures(study).map(({ signature }) => signature.step)).toEqual([
      ...['assessed', 'reviewed', 'released', 'withdrawn', 'withdrawn', 'withdrawn', 'assessed'],
    ]);
  });

  it('says what is taken back, and takes no assessment for another where there are several', async () => {
    const study2 = folder.file('several.chamberside');
    copyFileSync(study, study2);
    const recorder = await openStudyForRecording({ path: study2, hostId: host });
    await recorder.storeAssessment({ trial, method, program: '0.1.0', details: null, cells: [] });
    await recorder.close();
    const about = ['--study', study2, '--laboratory', laboratory, '--person', 'rita', '--reason', 'a slip'];
    const open = await chambersideWithInput('4711\n', 'sign', 'withdrawn', ...about);
    expect([open.status, open.stderr]).toEqual([2, expect.stringContaining('--assessment is missing')]);
    const back = await chambersideWithInput('4711\n', 'sign', 'withdrawn', ...about, '--assessment', '1');
    expect([back.status, back.stderr]).toEqual([0, expect.stringMatching(/What is taken back: .* assessed by rita/)]);
  });

  it('signs nothing of a trial that is not what was recorded', async () => {
    expect(listAssessments(study, trial).length).toBe(1);
    alter(study, (file) => file.exec("UPDATE event SET kind = 'cue'"));
    expect((await sign('assessed', 'otto', '0815')).stderr).toContain('file-damaged');
  });
});
