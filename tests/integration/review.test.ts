import Database from 'better-sqlite3';
import { copyFileSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { listAssessments, readAssessment, readAssessments } from '../../src/host/store/assessments.ts';
import { openLaboratory } from '../../src/host/store/laboratory.ts';
import { verify } from '../../src/host/store/verify.ts';
import type { Assessment } from '../../src/leakage/assessment.ts';
import type { AssessmentDifference } from '../../src/leakage/difference.ts';
import { differenceSchema } from '../../src/leakage/difference.ts';
import { assess } from '../../src/leakage/assess.ts';
import { readPlannedMethod, readTrial } from '../../src/host/store/read.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { chambersideWithInput, temporaryFolder, type CommandOutcome } from '../support/command-line.ts';
import { rehearse, type PrintedCell, type PrintedRehearsal } from '../support/rehearsal.ts';

/** A reviewer leaves something out of a recorded trial, from the command line to the file, and back to everything. */
const folder = temporaryFolder();
const study = folder.file('study.chamberside');
const laboratory = folder.file('laboratory.chamberlab');
let done: PrintedRehearsal;
/** Two seconds inside the window of the first cell that has one. */
let place: { exercise: string; probe: string; from: number; to: number };
let planned: Assessment;

beforeAll(async () => {
  done = await rehearse(study, '--scenario', 'short', '--seed', '3');
  const file = openLaboratory(laboratory, { create: true });
  await file.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4711' });
  await file.addPerson({ code: 'otto', name: 'Otto', roles: ['operator', 'technician'], pin: '0815' });
  await file.addPerson({ code: 'gone', name: 'Gone', roles: ['reviewer'], pin: '2222' });
  file.deactivatePerson('gone');
  file.close();
  planned = assess(readTrial(study, done.trialId), readPlannedMethod(study, done.trialId));
  const cell = planned.cells.find(({ windowPercent }) => windowPercent !== null);
  const reading = cell?.parts[0]?.reading;
  if (cell === undefined || reading == null) throw new Error('no cell has a window');
  const middle = (reading.arrivalFromMicroseconds + reading.arrivalToMicroseconds) / 2e6;
  place = { exercise: cell.exercise, probe: cell.probe, from: middle - 0.5, to: middle + 0.5 };
});
afterAll(() => folder.clear());

const reason = 'the probe was touched, =see the film';
const assessWith = (pin: string, ...words: string[]): Promise<CommandOutcome> =>
  chambersideWithInput(`${pin}\n`, 'assess', '--study', study, ...words);
const asReviewer = (...words: string[]): Promise<CommandOutcome> =>
  assessWith('4711', '--person', 'rita', '--laboratory', laboratory, '--reason', reason, ...words);
const stretch = (): string => `${place.from.toFixed(3)}-${place.to.toFixed(3)}`;
const difference = async (...words: string[]): Promise<AssessmentDifference & { intact: boolean }> => {
  const { status, stderr, stdout } = await chambersideHere('difference', '--study', study, '--json', ...words);
  if (status !== 0) throw new Error(stderr);
  return JSON.parse(stdout) as AssessmentDifference & { intact: boolean };
};

describe('who may', () => {
  it.each([
    ['somebody who is no reviewer', '0815', 'otto', 'role-missing'],
    ['a reviewer with another PIN', '4712', 'rita', 'pin-wrong'],
    ['somebody who has left', '2222', 'gone', 'person-not-found'],
    ['nobody', '1111', 'nemo', 'person-not-found'],
  ])('%s may not', async (_, pin, person, code) => {
    const words = ['--person', person, '--laboratory', laboratory, '--reason', reason, '--leave-out', stretch()];
    const refused = await assessWith(pin, ...words);
    expect(refused.status).toBe(1);
    expect(refused.stderr).toContain(code);
    expect(refused.stderr).not.toContain(pin);
    expect(listAssessments(study)).toHaveLength(1);
  });

  it.each([
    ['no person', ['--leave-out', '1-2', '--reason', 'x', '--laboratory', 'lab']],
    ['no reason', ['--leave-out', '1-2', '--person', 'rita', '--laboratory', 'lab']],
    ['a blank reason', ['--leave-out', '1-2', '--person', 'rita', '--laboratory', 'lab', '--reason', ' ']],
    ['another method, and no reviewer', ['--method', 'adaptive']],
    ['no stretch', ['--time', 'probe', '--person', 'rita', '--laboratory', 'lab', '--reason', 'x']],
    ['a stretch that ends before it begins', ['--dry', '--leave-out', '2-1']],
    ['a stretch in minutes', ['--dry', '--leave-out', '1:00-1:05']],
    ['a probe that the rig has not', ['--dry', '--leave-out', '1-2@nose']],
    ['a stretch after the end', ['--dry', '--leave-out', '90000-90001']],
  ])('%s is refused', async (_, words) => {
    const refused = await chambersideHere('assess', '--study', study, ...words);
    expect(refused.status).toBe(2);
    expect(listAssessments(study)).toHaveLength(1);
  });
});

describe('a stretch left out by a reviewer', () => {
  let before = '';
  let first = '';
  let made: { assessmentId: string; cells: PrintedCell[]; leftOut: { readings: number }[] };

  beforeAll(async () => {
    first = listAssessments(study)[0]?.assessment ?? '';
    before = rowOf(1);
    const outcome = await asReviewer('--leave-out', `${stretch()}@${place.probe}`, '--json');
    expect(outcome.stderr).toContain('Left out:');
    made = JSON.parse(outcome.stdout) as typeof made;
  });

  it('is a new assessment beside the old one, which stays what it was', () => {
    expect(listAssessments(study).map(({ assessment }) => assessment)).toEqual([first, made.assessmentId]);
    expect(rowOf(1)).toBe(before);
    expect(verify(study).intact).toBe(true);
    const document = readAssessment(study, made.assessmentId);
    const [left] = document?.review?.leftOut ?? [];
    expect(document?.review).toMatchObject({ person: 'rita', reason });
    expect(left).toEqual({
      fromMicroseconds: Math.round(Number(place.from.toFixed(3)) * 1e6),
      toMicroseconds: Math.round(Number(place.to.toFixed(3)) * 1e6),
      time: 'arrival',
      probe: place.probe,
      reason,
    });
  });

  it('is said by its cell, and by no other', () => {
    const flagged = made.cells.filter(({ flags }) => flags.includes('left-out'));
    expect(flagged.map(({ exercise, probe }) => [exercise, probe])).toEqual([[place.exercise, place.probe]]);
    expect(made.leftOut[0]?.readings).toBeGreaterThan(0);
  });

  it('gives the same bits again', async () => {
    const repeated = await asReviewer('--leave-out', `${stretch()}@${place.probe}`, '--json');
    const again = JSON.parse(repeated.stdout) as typeof made;
    expect(again.assessmentId).not.toBe(made.assessmentId);
    expect(again.cells).toEqual(made.cells);
    const twice = await difference();
    expect(twice.cellsChanged).toBe(0);
    expect(twice.overall.same).toBe(true);
  });

  it('differs from the one before in what it says it does', async () => {
    const found = await difference('--from', '1', '--to', made.assessmentId);
    expect(differenceSchema.parse(found)).toBeDefined();
    expect(found.method).toEqual([]);
    expect(found.before).toMatchObject({ position: 1, review: null });
    expect(found.after.review?.person).toBe('rita');
    expect(found.leftOut.gained).toHaveLength(1);
    expect(found.leftOut.lost).toEqual([]);
    const own = found.cells.find(({ exercise, probe }) => exercise === place.exercise && probe === place.probe);
    const was = planned.cells.find(({ exercise, probe }) => exercise === place.exercise && probe === place.probe);
    expect(own?.beforePercent).toBe(was?.windowPercent);
    expect(own?.flagsGained).toEqual(['left-out']);
    expect(own?.same).toBe(false);
    const change = ((own?.afterPercent ?? 0) - (own?.beforePercent ?? 0)) / (was?.windowPercent ?? 0);
    expect(own?.changePercent).toBeCloseTo(100 * change, 9);
    expect((own?.beforeReadings ?? 0) - (own?.afterReadings ?? 0)).toBe(made.leftOut[0]?.readings);
    // One value of a trial has a part in the interval of the whole exercise of all.
    expect(found.exerciseIntervalsChanged).toBeGreaterThan(0);
    const words = ['--study', study, '--from', '1', '--to', made.assessmentId];
    const { stdout } = await chambersideHere('difference', ...words);
    const counted = `${found.exerciseIntervalsChanged} of ${found.cells.length} values`;
    expect(stdout).toContain(`interval of the whole exercise differs for ${counted}; for the mean of the trial`);
    // The other way round everything is the other way round.
    const back = await difference('--from', '2', '--to', '1');
    expect(back.leftOut.lost).toHaveLength(1);
    expect(back.cells.find((cell) => !cell.same)?.flagsLost).toEqual(['left-out']);
  });

  it('is explained from the same readings', async () => {
    const words = ['--exercise', place.exercise, '--probe', place.probe, '--study', study];
    const explained = await chambersideHere('explain', ...words);
    expect(explained.stdout).toContain('Left out of the trial by a reviewer');
    expect(explained.stdout).toContain('has the same value and flags');
    expect(explained.status).toBe(0);
  });

  it('is listed, and named by report, judge and export', async () => {
    const list = await chambersideHere('assess', '--study', study, '--list');
    expect(list.stdout).toContain(`rita: ${reason}`);
    const out = folder.file('report.html');
    expect((await chambersideHere('report', '--study', study, '--trial', done.trialId, '--out', out)).status).toBe(0);
    const page = readFileSync(out, 'utf8');
    expect(page).toContain('What a reviewer chose');
    expect(page).toContain('the probe was touched');
    expect(page).toContain(listAssessments(study).at(-1)?.assessment);
    const older = folder.file('older.html');
    const words = ['--study', study, '--trial', done.trialId, '--out', older, '--assessment', '1'];
    expect((await chambersideHere('report', ...words)).status).toBe(0);
    expect(readFileSync(older, 'utf8')).not.toContain('What a reviewer chose');

    const judged = await chambersideHere('judge', '--study', study, '--requirement', 'iso-13982-1', '--json');
    expect(judged.stderr).toContain('as the reviewer rita had it assessed, 1 stretch left out');
    const { assessments } = JSON.parse(judged.stdout) as { assessments: { review: { reason: string } }[] };
    expect(assessments[0]?.review.reason).toBe(reason);

    const package_ = folder.file('package');
    expect((await chambersideHere('export', '--study', study, '--out', package_)).status).toBe(0);
    const table = readFileSync(`${package_}/assessments.csv`, 'utf8');
    expect(table).toContain('rita');
    expect(table).toContain(`""reason"":""${reason}""`);
    expect(JSON.parse(readFileSync(`${package_}/datapackage.json`, 'utf8'))).toMatchObject({
      resources: expect.arrayContaining([expect.objectContaining({ path: 'assessments.csv' })]) as unknown,
    });
  });

  it('is covered by verify, reason and all', () => {
    for (const [what, change] of [
      ['the reason', (json: string) => json.replace('touched', 'tauched')],
      ['the person', (json: string) => json.replace('"person":"rita"', '"person":"otto"')],
      ['the stretch', (json: string) => json.replace(/"fromMicroseconds":(\d)/, '"fromMicroseconds":9$1')],
      ['all of it', (json: string) => json.replace(/"review":\{.*?\},"trial"/, '"trial"')],
    ] as const) {
      const copy = folder.file('altered.chamberside');
      copyFileSync(study, copy);
      const database = new Database(copy);
      const row = database.prepare('SELECT number, json FROM assessment ORDER BY number DESC LIMIT 1').get() as Row;
      expect(change(row.json), what).not.toBe(row.json);
      const triggers = database.prepare("SELECT name FROM sqlite_master WHERE type = 'trigger'").all() as Named[];
      for (const { name } of triggers) {
        if (name.includes('assessment')) database.exec(`DROP TRIGGER "${name}"`);
      }
      database.prepare('UPDATE assessment SET json = ? WHERE number = ?').run(change(row.json), row.number);
      database.close();
      const { findings, intact } = verify(copy);
      expect(intact, what).toBe(false);
      expect(findings.some(({ code }) => code === 'assessment-altered'), what).toBe(true);
    }
  });

  it('is not put aside by one that nobody decided, and is taken back by a reviewer', async () => {
    const plain = await chambersideHere('assess', '--study', study);
    expect(plain.status).toBe(1);
    expect(plain.stderr).toContain('action-refused');
    const count = listAssessments(study).length;
    const back = await asReviewer('--json');
    expect(back.status).toBe(0);
    expect(readAssessments(study, done.trialId)).toHaveLength(count + 1);
    const found = await difference('--from', '1');
    expect(found.cellsChanged).toBe(0);
    expect(found.leftOut.gained).toEqual([]);
    expect(found.after.review?.leftOut).toEqual([]);
    expect(verify(study).intact).toBe(true);
  });

  it('goes together with another method', async () => {
    const both = await asReviewer('--method', 'adaptive', '--leave-out', stretch(), '--time', 'probe');
    expect(both.stderr).not.toContain('error');
    const found = await difference('--from', '1');
    expect(found.method.map(({ field }) => field)).toEqual(expect.arrayContaining(['name', 'settling.rule']));
    expect(found.timeConstantSeconds).not.toBeNull();
    expect(found.leftOut.gained[0]?.time).toBe('probe');
  });
});

interface Row {
  readonly number: number;
  readonly json: string;
}
interface Named {
  readonly name: string;
}

function rowOf(number: number): string {
  const database = new Database(study, { readonly: true });
  const row = database.prepare('SELECT json FROM assessment WHERE number = ?').get(number) as { json: string };
  database.close();
  return row.json;
}
