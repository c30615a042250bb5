import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ReviewAsk } from '../../src/bridge/review.ts';
import { trialResultSchema } from '../../src/bridge/result.ts';
import { listAssessments, readAssessments } from '../../src/host/store/assessments.ts';
import { readReportSource } from '../../src/host/report/read-source.ts';
import { verify } from '../../src/host/store/verify.ts';
import { differenceSchema } from '../../src/leakage/difference.ts';
import { followSignatures } from '../../src/model/signature.ts';
import type { SignatureStep } from '../../src/model/signature.ts';
import { trialReport } from '../../src/report/trial-report.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { rehearse } from '../support/rehearsal.ts';
import { driveRuntime, type Driver } from '../support/runtime/drive.ts';

/** A window asks for a new assessment of a recorded trial; the host decides who may. */
const folder = temporaryFolder();
const file = 'played.chamberside';
const study = folder.file(file);
let driver: Driver;
let trial = '';
let asked: ReviewAsk;

beforeAll(async () => {
  ({ trialId: trial } = await rehearse(study, '--seed', '5', '--scenario', 'short'));
  driver = await driveRuntime({ folder: folder.path });
  const { person } = driver.procedures;
  await person.add({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' }, driver.window);
  await person.add({ code: 'otto', name: 'Otto', roles: ['operator'], pin: '0815' }, driver.window);
  // Who is at the rig has nothing to do with it.
  await person.choose({ code: 'rita' }, driver.window);
  const result = await driver.procedures.trial.result({ file, trial }, driver.window);
  const [window] = result.assessment?.cells.find(({ windowPercent }) => windowPercent !== null)?.windows ?? [];
  if (window === undefined) throw new Error('no cell has a window');
  const middle = Math.round((window.fromMicroseconds + window.toMicroseconds) / 2);
  const stretch = { fromMicroseconds: middle - 400_000, toMicroseconds: middle + 400_000, time: 'arrival' } as const;
  const leftOut = [{ ...stretch, probe: null, reason: 'a door was opened' }];
  asked = { method: null, person: 'rita', pin: '4711', reason: 'a door was opened', leftOut };
}, 120_000);
afterAll(async () => {
  await driver.end();
  folder.clear();
});

const review = (change: Partial<ReviewAsk> = {}) =>
  driver.procedures.trial.review({ file, trial, ...asked, ...change }, driver.window);

describe('a window that asks for a new assessment', () => {
  it.each([
    ['for somebody who is no reviewer', { person: 'otto', pin: '0815' }, 'role-missing'],
    ['with a wrong PIN', { pin: '4712' }, 'pin-wrong'],
    ['for nobody', { person: 'nemo' }, 'person-not-found'],
    ['by a method that there is not', { method: 'best' }, 'usage-bad-value'],
    ['without a reason', { reason: ' ' }, 'usage-bad-value'],
  ] as const)('is refused %s', async (_, change, code) => {
    await expect(review(change)).rejects.toMatchObject({ code });
    expect(listAssessments(study)).toHaveLength(1);
  });

  it('is refused a stretch of a probe that the rig has not', async () => {
    const [stretch] = asked.leftOut;
    if (stretch === undefined) throw new Error('there is no stretch');
    const refused = review({ leftOut: [{ ...stretch, probe: 'nose' }] });
    await expect(refused).rejects.toMatchObject({ code: 'usage-bad-value' });
  });

  it('gets it, and the result shows it from then on, with all that there are', async () => {
    const { assessment } = await review();
    const result = await driver.procedures.trial.result({ file, trial }, driver.window);
    expect(trialResultSchema.parse(result)).toEqual(result);
    expect(result.assessment?.assessment).toBe(assessment);
    expect(result.assessment?.review).toMatchObject({ person: 'rita', reason: 'a door was opened' });
    expect(result.assessment?.leftOut[0]?.readings).toBeGreaterThan(0);
    expect(result.assessments.map(({ position, review: by }) => [position, by?.person ?? null])).toEqual([
      [1, null],
      [2, 'rita'],
    ]);
    // The PIN stands nowhere; its digits may stand inside a number.
    expect(JSON.stringify(readAssessments(study, trial))).not.toMatch(/(?<![\d.])4711(?!\d)/);
    const found = await driver.procedures.trial.difference({ file, trial, from: null, to: null }, driver.window);
    expect(differenceSchema.parse(found)).toEqual(found);
    expect(found.leftOut.gained).toHaveLength(1);
    expect(found.cells.filter(({ same }) => !same).length).toBeGreaterThan(0);
    expect(verify(study).intact).toBe(true);
  });

  it('is refused one that nobody decided, after that', async () => {
    await expect(driver.procedures.trial.assess({ file, trial }, driver.window)).rejects.toMatchObject({
      code: 'action-refused',
    });
  });

  it('makes the trial void for a reviewer and for nobody else: result, study list and figures say so', async () => {
    const { procedures, window } = driver;
    const decide = (person: string, pin: string, decision: 'void' | 'withdrawn') =>
      procedures.trial.void({ file, trial, decision, person, pin, reason: 'the hose had come off' }, window);
    await expect(decide('otto', '0815', 'void')).rejects.toMatchObject({ code: 'role-missing' });
    await decide('rita', '4711', 'void');
    const result = await procedures.trial.result({ file, trial }, window);
    expect(trialResultSchema.parse(result)).toEqual(result);
    expect(result.voidings.map(({ decision, person }) => [decision, person])).toEqual([['void', 'rita']]);
    expect(result.assessment?.cells.length).toBeGreaterThan(0);
    const { summary } = await procedures.study.summary({ file }, window);
    expect(summary.counts).toMatchObject({ void: 1, counted: 0 });
    expect(summary.roster[0]?.voided).toEqual({ person: 'rita', reason: 'the hose had come off' });
    await decide('rita', '4711', 'withdrawn');
    expect((await procedures.study.summary({ file }, window)).summary.counts).toMatchObject({ void: 0, counted: 1 });
    expect(verify(study).intact).toBe(true);
  });

  it('signs it as a rehearsal, step by step, and never lets who assessed it review it', async () => {
    const { procedures, window } = driver;
    await procedures.person.add({ code: 'rosa', name: 'Rosa', roles: ['reviewer'], pin: '2718' }, window);
    const { assessments } = await procedures.trial.result({ file, trial }, window);
    const [first, newest] = [assessments[0]?.assessment ?? '', assessments.at(-1)?.assessment ?? ''];
    const pins: Record<string, string> = { otto: '0815', rita: '4711', rosa: '2718' };
    const sign = async (step: SignatureStep, person: string, assessment = newest, pin = pins[person] ?? '') => {
      const { signatures } = await procedures.trial.result({ file, trial }, window);
      const after = followSignatures(signatures).assessments.get(assessment)?.standing.at(-1)?.number ?? null;
      await procedures.trial.sign({ file, trial, assessment, step, after, person, pin, reason: 'as agreed' }, window);
    };
    const unseen = { file, trial, assessment: newest, step: 'withdrawn' as const, after: null, person: 'rosa' };
    await expect(sign('assessed', 'otto', newest, '4711')).rejects.toMatchObject({ code: 'pin-wrong' });
    await sign('assessed', 'otto');
    // Somebody has signed since this window looked.
    await expect(procedures.trial.sign({ ...unseen, pin: '2718', reason: 'a slip' }, window)).rejects.toMatchObject({
      code: 'action-refused',
    });
    await expect(sign('reviewed', 'otto')).rejects.toMatchObject({ code: 'role-missing' });
    // She had it made.
    await expect(sign('reviewed', 'rita')).rejects.toMatchObject({ code: 'action-refused' });
    await expect(sign('released', 'rosa')).rejects.toMatchObject({ code: 'action-refused' });
    await sign('reviewed', 'rosa');
    await sign('assessed', 'rosa', first);
    await expect(sign('reviewed', 'rosa', first)).rejects.toMatchObject({ code: 'action-refused' });
    await sign('reviewed', 'rita', first);
    await sign('released', 'rosa', first);
    const result = await procedures.trial.result({ file, trial }, window);
    expect(trialResultSchema.parse(result)).toEqual(result);
    // The released one counts, and is not the newest.
    expect([result.assessment?.assessment, result.assessment?.review]).toEqual([first, null]);
    const signed = result.signatures.map((one) => [one.step, one.person, one.rehearsal, one.fingerprint]);
    expect(signed).toEqual([
      ['assessed', 'otto', true, null],
      ['reviewed', 'rosa', true, null],
      ['assessed', 'rosa', true, null],
      ['reviewed', 'rita', true, null],
      ['released', 'rosa', true, null],
    ]);
    const { sections } = trialReport(readReportSource(study, trial, null, '0.1.0'));
    expect(JSON.stringify(sections.find(({ id }) => id === 'signatures'))).toContain('released, by rosa');
    expect(verify(study).intact).toBe(true);
  });
});
