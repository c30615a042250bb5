import { afterAll, beforeAll, expect, it } from 'vitest';
import { listAssessments } from '../../src/host/store/assessments.ts';
import { readPlannedMethod } from '../../src/host/store/read.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { UsedTimeConstant } from '../../src/leakage/time-constant.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { temporaryFolder } from '../support/command-line.ts';
import { measured, rehearse, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';

interface Printed {
  readonly method: { readonly name: string };
  readonly timeConstant: UsedTimeConstant | null;
  readonly cells: readonly PrintedCell[];
}

const folder = temporaryFolder();
const study = folder.file('study.chamberside');
let done: PrintedRehearsal;
beforeAll(async () => {
  done = await rehearse(study, '--scenario', 'short', '--seed', '3');
});
afterAll(() => folder.clear());

async function assessed(...words: string[]): Promise<Printed> {
  const { status, stderr, stdout } = await chambersideHere('assess', '--study', study, ...words, '--json');
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
