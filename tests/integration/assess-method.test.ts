import { writeFileSync } from 'node:fs';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { readPlannedMethod } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { UsedTimeConstant } from '../../src/leakage/time-constant.ts';
import type { Method } from '../../src/model/method.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { chambersideWithInput, temporaryFolder } from '../support/command-line.ts';
import { measured, rehearse, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';

interface Printed {
  readonly method: { readonly name: string };
  readonly timeConstant: UsedTimeConstant | null;
  readonly cells: readonly PrintedCell[];
}

const folder = temporaryFolder();
const study = folder.file('study.chamberside');
const laboratory = folder.file('laboratory.chamberlab');
let done: PrintedRehearsal;
beforeAll(async () => {
  done = await rehearse(study, '--scenario', 'short', '--seed', '3');
  const file = openLaboratory(laboratory, { create: true });
  await file.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' });
  file.close();
});
afterAll(() => folder.clear());

/** Another method is a reviewer's decision, and so is to go back. */
async function assessed(...words: string[]): Promise<Printed> {
  const who = ['--person', 'rita', '--laboratory', laboratory, '--reason', 'a slow photometer'];
  const all = ['assess', '--study', study, ...who, ...words, '--json'];
  const { status, stderr, stdout } = await chambersideWithInput('4711\n', ...all);
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as Printed;
}

it('a method is chosen by its name, beside the planned one, which stays what it was', async () => {
  const before = readPlannedMethod(study, done.trialId);
  const adapted = await assessed('--method', 'adaptive');
  expect(adapted.method.name).toBe('adaptive');
  expect(adapted.timeConstant?.source).toBe('rig');
  expect(adapted.timeConstant?.reason).toMatch(/falls can be fitted/);
  expect(listAssessments(study).map(({ methodName }) => methodName)).toEqual([before.name, 'adaptive']);
  expect(readPlannedMethod(study, done.trialId)).toEqual(before);
  expect(verify(study).intact).toBe(true);

  // What is explained is the newest, by its own method.
  const [cell] = adapted.cells;
  const place = ['--exercise', cell?.exercise ?? '', '--probe', cell?.probe ?? ''];
  const explained = await chambersideHere('explain', '--study', study, ...place);
  expect(explained.status).toBe(0);
  expect(explained.stdout).toContain('has the same value and flags');
  const out = folder.file('report.html');
  expect((await chambersideHere('report', '--study', study, '--trial', done.trialId, '--out', out)).status).toBe(0);

  const again = await assessed();
  expect(again.method).toEqual(before);
  expect(again.timeConstant).toBeNull();
  expect(measured(again.cells)).toEqual(measured(done.cells));
});

it('a name that no method has is refused with those there are', async () => {
  const { status, stderr } = await chambersideHere('assess', '--study', study, '--method', 'best');
  expect(status).toBe(2);
  expect(stderr).toContain('one of first, first, quick photometer, adaptive');
});

it('a method of one’s own is taken from a file, and no other one under its name and version', async () => {
  const file = folder.file('own.json');
  const printed = await chambersideHere('methods', '--method', readPlannedMethod(study, done.trialId).name, '--json');
  const own = { ...(JSON.parse(printed.stdout) as Method), name: 'house-rule', version: 1 };
  writeFileSync(file, JSON.stringify({ ...own, detectionLimit: 'ten-s' }));
  const said = await chambersideHere('methods', '--method-file', file);
  expect(said.stdout).toMatch(/^house-rule version 1\n- /);
  expect(said.stdout).toContain('The detection limit is 10 standard uncertainties');

  const made = await assessed('--method-file', file);
  expect(made.method.name).toBe('house-rule');
  expect(listAssessments(study).at(-1)?.methodName).toBe('house-rule');
  expect(verify(study).intact).toBe(true);
  const [cell] = made.cells;
  const place = ['--exercise', cell?.exercise ?? '', '--probe', cell?.probe ?? ''];
  const explained = await chambersideHere('explain', '--study', study, ...place);
  expect(explained.stdout).toContain('10 × √(sum of u²)');

  writeFileSync(file, JSON.stringify(own));
  await expect(assessed('--method-file', file)).rejects.toThrow(/house-rule version 1 has been used in this study/);
  writeFileSync(file, JSON.stringify({ ...own, version: 2 }));
  expect((await assessed('--method-file', file)).method.name).toBe('house-rule');
});
