import { copyFileSync, existsSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { StudyBootstrap } from '../../src/study/bootstrap-study.ts';
import type { StudySummary } from '../../src/study/study-summary.ts';
import { storeAssessment } from '../../src/host/store/assessments.ts';
import { readStudyRows } from '../../src/host/store/study-rows.ts';
import { chambersideHere } from '../support/command-in-process.ts';
import { temporaryFolder } from '../support/command-line.ts';
import type { Identifier } from '../../src/model/identity.ts';
import { method } from '../support/store/trial.ts';
import { alter } from '../support/store/altered-study.ts';
import { madeLimitPercent, madeProbes, makeStudyFile } from '../support/study/made-study.ts';

const folder = temporaryFolder();
const study = folder.file('compared.chamberside');
beforeAll(async () => {
  const about = { seed: 5, subjects: 6, ensembles: ['A', 'B'], repeats: 1, virtual: true };
  await makeStudyFile({
    ...about,
    path: study,
    name: 'Coveralls',
    requirementPercent: 0.5,
    unsealed: [3],
    notAssessed: [4],
    flagged: [5],
    overdue: [1, 3],
    reviewed: [7],
  });
});
afterAll(folder.clear);

interface Printed extends StudySummary {
  readonly altered: string[];
  readonly asked: { readonly standings: { readonly ensemble: string }[] } | null;
  readonly whatIf?: unknown;
  readonly bootstrap?: StudyBootstrap[];
}

async function compared(...words: string[]): Promise<{ status: number; printed: Printed; stderr: string }> {
  const { status, stdout, stderr } = await chambersideHere('compare', '--study', study, '--json', ...words);
  return { status, printed: JSON.parse(stdout) as Printed, stderr };
}

describe('compare', () => {
  it('counts the roster, gives figures, ratios, shares and marks as data', async () => {
    const { status, printed } = await compared();
    expect(status).toBe(0);
    expect(printed.counts).toEqual({
      ...{ trials: 12, sealed: 11, assessed: 10, flagged: 1, void: 0, noResult: 1 },
      ...{ virtual: 12, counted: 10, subjects: 5 },
    });
    expect(printed.scopes.map(({ probe }) => probe)).toEqual([null, ...madeProbes]);
    // Made with 18 times as much in the hood and 0.56 times at the ankle.
    const ratio = (probe: string): number => {
      const found = printed.scopes.find((scope) => scope.probe === probe)?.ratios[0]?.ratio;
      return found?.known === true ? found.figure.ratio : Number.NaN;
    };
    expect(ratio('hood')).toBeGreaterThan(10);
    expect(ratio('hood')).toBeLessThan(30);
    expect(ratio('ankle')).toBeLessThan(0.8);
    expect(printed.shares.map(({ limitPercent, ensemble }) => [limitPercent, ensemble])).toEqual([
      [0.5, 'A'],
      [0.5, 'B'],
    ]);
    const marks = printed.marks.map(({ mark }) => mark);
    for (const mark of ['virtual', 'flagged', 'no-result', 'not-assessed', 'few-subjects']) {
      expect(marks).toContain(mark);
    }
  });

  it('says which trials rest on an overdue check, and which a reviewer had assessed', async () => {
    const { trials } = readStudyRows(study);
    const overdue = trials.flatMap(({ doubtfulChecks }, index) => (doubtfulChecks.length > 0 ? [index + 1] : []));
    expect(overdue).toEqual([1, 3]);
    expect(trials[6]?.review).toEqual({ person: 'rita', leftOut: 1 });
    expect(trials.filter(({ review }) => review !== null)).toHaveLength(1);
    const { printed } = await compared('--requirement', 'iso-13982-1');
    const marks = printed.marks.map(({ mark }) => mark);
    for (const mark of ['check-not-valid', 'reviewed']) expect(marks).toContain(mark);
    const { stdout } = await chambersideHere('compare', '--study', study, '--requirement', 'iso-13982-1');
    expect(stdout).toMatch(/! 1 of 10 trials rest on a check that was overdue or had failed: dilution, Ankle\./);
    expect(stdout).toMatch(/virtual rig, rests on a check that was overdue or had failed: dilution, Ankle\n/);
    expect(stdout).toMatch(/the reviewer rita had it assessed, 1 stretch left out\n/);
    expect(stdout).toMatch(/– t-000000000007 counts as the reviewer rita had it assessed/);
  });

  it('takes limits, a requirement and other confidences', async () => {
    const { printed } = await compared('--limit', '0.2', '--confidence', '0.9', '--requirement', 'en-943-1');
    expect(printed.shares.map(({ limitPercent }) => limitPercent)).toEqual([0.2, 0.2, 0.5, 0.5]);
    expect(printed.questions.confidence).toBe(0.9);
    expect(printed.asked?.standings.map(({ ensemble }) => ensemble)).toEqual(['A', 'B']);
  });

  it('says the same to a person, with every mark and reason', async () => {
    const { status, stdout } = await chambersideHere('compare', '--study', study, '--requirement', 'iso-13982-1');
    expect(status).toBe(0);
    expect(stdout).toMatch(/^Coveralls: 12 trials; sealed 11, assessed 10, flagged 1, void 0, without result 1, /);
    expect(stdout).toMatch(/! Virtual rig: no result of a real ensemble\./);
    expect(stdout).toMatch(/whole trial\s+B \/ A/);
    expect(stdout).toMatch(/paired by subject/);
    expect(stdout).toMatch(/Components of variance, whole trial, 5 subjects by 2 ensembles/);
    expect(stdout).toMatch(/NOT EVALUATED – from memory: verify against the standard – /);
  });

  it('reads the newest assessment of each trial, and its detection limits', () => {
    const { trials, probes } = readStudyRows(study);
    expect(probes.map(({ probe }) => probe)).toEqual(madeProbes);
    expect(trials[0]?.cells?.every(({ limitPercent }) => limitPercent === madeLimitPercent)).toBe(true);
    expect(trials[2]?.cells).toBeNull();
  });

  it('refuses wrong wishes', async () => {
    const wrong = async (...words: string[]): Promise<number> => (await chambersideHere('compare', ...words)).status;
    expect(await wrong()).toBe(2);
    expect(await wrong('--study', study, '--confidence', '0.4')).toBe(2);
    expect(await wrong('--study', study, '--limit', '0')).toBe(2);
    expect(await wrong('--study', study, '--requirement', 'none')).toBe(2);
    expect(await wrong('--study', study, '--requirement', 'en-943-1', '--file', 'x.json')).toBe(2);
    expect(await wrong('--study', folder.file('none.chamberside'))).toBe(1);
  });

  it('says what would be without a trial, beside what stands, and writes nothing', async () => {
    const before = readFileSync(study);
    const { status, printed } = await compared('--without', 't-000000000002');
    expect(status).toBe(0);
    expect(printed.counts.counted).toBe(10);
    expect(printed.whatIf).toMatchObject({
      ...{ without: ['t-000000000002'], method: null, counts: { counted: 9 } },
      difference: { counted: 10, takenOut: 1, otherwiseAssessed: 0 },
    });
    const { stdout } = await chambersideHere('compare', '--study', study, '--without', 't-000000000002');
    expect(stdout).toMatch(/^WHAT-IF of Coveralls\. Nothing is written: the study stays as it stands\./);
    expect(stdout).toMatch(/in the figures as it stands 10, here 9/);
    expect(stdout).toMatch(/[Hh]ood +B \/ A +\d+/);
    expect(readFileSync(study).equals(before)).toBe(true);
    // One that is in no figure, one that is not there.
    for (const trial of ['t-000000000003', 't-000000000099']) {
      const refused = await chambersideHere('compare', '--study', study, '--without', trial);
      expect([refused.status, refused.stderr]).toEqual([2, expect.stringContaining(`hangs on it: ${trial}`)]);
    }
  });

  it('counts trials by another method where they hold an assessment by it, and only there', async () => {
    const copy = folder.file('methods.chamberside');
    copyFileSync(study, copy);
    const [, , , , , sixth] = readStudyRows(copy).trials;
    const cells = (sixth?.cells ?? []).map(({ exercise, probe, percent }, index) => ({
      ...{ exercise, probe, dwellPosition: index, flags: [] },
      ...{ windowPercent: 2 * (percent ?? 0), windowLowPercent: null, windowHighPercent: null, exercisePercent: null },
    }));
    const doubled = { ...method, name: 'doubled', version: 4 };
    const asked = { trial: 't-000000000006' as Identifier, method: doubled, program: '0.1.0', cells };
    storeAssessment(copy, { ...asked, details: null }, '2026-01-06T08:00:00.000Z');
    storeAssessment(copy, { ...asked, method, details: null }, '2026-01-07T08:00:00.000Z');
    const { methods } = readStudyRows(copy);
    expect(methods.map(({ trials }) => trials)).toEqual([10, 1]);
    const by = readStudyRows(copy, 'doubled, version 4').trials;
    expect(by.map(({ method: label }) => label).filter((label) => label === 'doubled, version 4')).toHaveLength(1);
    expect(by[5]?.cells?.[0]?.percent).toBe(cells[0]?.windowPercent);
    const { stdout } = await chambersideHere('compare', '--study', copy, '--by-method', 'doubled');
    expect(stdout).toMatch(/by “doubled, version 4”: 1 of 10 trials count otherwise/);
    expect(stdout).toMatch(/! Assessed by 2 methods/);
    const refused = await chambersideHere('compare', '--study', copy, '--by-method', 'none');
    expect([refused.status, refused.stderr]).toEqual([2, expect.stringContaining('Assessed trials by method')]);
  });

  it('draws subjects again where it is asked to, the same from the same seed', async () => {
    const { printed } = await compared('--bootstrap', '3');
    const again = (await compared('--bootstrap', '3')).printed;
    expect(printed.bootstrap).toEqual(again.bootstrap);
    const [whole] = printed.bootstrap ?? [];
    const ratio = printed.scopes[0]?.ratios[0]?.ratio;
    const drawn = whole?.drawn.known === true ? whole.drawn.figure : null;
    const value = ratio?.known === true ? ratio.figure.ratio : NaN;
    expect(drawn?.low).toBeLessThan(value);
    expect(drawn?.high).toBeGreaterThan(value);
    expect((await compared()).printed.bootstrap).toBeUndefined();
    const { stdout } = await chambersideHere('compare', '--study', study, '--bootstrap', '3');
    const words = ['--study', study, '--bootstrap', '3', '--without', 't-000000000002'];
    expect(await chambersideHere('compare', ...words)).toMatchObject({
      stderr: expect.stringContaining('--bootstrap is of the study as it stands') as string,
      stdout: '',
    });
    expect(stdout).toMatch(/drawing subjects again \(percentile bootstrap\): 20000 draws, seed 3; 95 %/);
  });

  it('shows the scatter on which the plan of the next study rests', async () => {
    const words = ['--study', study, '--ensembles', 'A, B', '--ratio', '1.3', '--subjects', '8'];
    const { status, stdout } = await chambersideHere('study-plan', ...words);
    expect(status).toBe(0);
    expect(stdout).toMatch(
      /trial to trial × 1\.00 \(as Coveralls has shown, whole trials of \d+ subjects who wore all\)/,
    );
    expect(stdout).toMatch(/^ {2}! Virtual rig: no result of a real ensemble\.$/m);
    expect(stdout).toMatch(/ +8 .*this plan/);
    const { printed } = await compared();
    const [whole] = printed.scopes;
    const shown = whole?.components.known === true ? whole.components.figure : null;
    const plan = JSON.parse((await chambersideHere('study-plan', ...words, '--json')).stdout) as {
      scatter: { subject: number; interaction: number };
      allocation: { figure: { subjects: unknown[] } };
    };
    expect(Math.log(plan.scatter.subject) ** 2).toBeCloseTo(shown?.subject ?? NaN, 9);
    expect(Math.log(plan.scatter.interaction) ** 2).toBeCloseTo(shown?.trial ?? NaN, 9);
    expect(plan.allocation.figure.subjects).toHaveLength(8);
  });

  it.each(['pdf', 'html'])('is handed over as %s, the same bytes again, and never over a file', async (form) => {
    const before = readFileSync(study);
    const [one, two] = [folder.file(`one.${form}`), folder.file(`two.${form}`)];
    const made = await chambersideHere('study-report', '--study', study, '--out', one, '--json');
    expect([made.status, made.stderr]).toEqual([0, '']);
    expect(JSON.parse(made.stdout)).toMatchObject({ format: form, trials: 12, counted: 10, virtual: true });
    await chambersideHere('study-report', '--study', study, '--out', two);
    expect(readFileSync(one).equals(readFileSync(two))).toBe(true);
    expect((await chambersideHere('study-report', '--study', study, '--out', one)).status).toBe(1);
    expect(readFileSync(study).equals(before)).toBe(true);
    if (form === 'pdf') expect(readFileSync(one).subarray(0, 5).toString()).toBe('%PDF-');
    else expect(readFileSync(one, 'utf8')).toContain('How much leaks into <bdi>A</bdi> and into <bdi>B</bdi>');
  });

  it('says which trial is not what was recorded, and exits with 1', async () => {
    alter(study, (file) => {
      file.prepare("UPDATE event SET json = replace(json, 'acknowledged', 'acknowledgee') WHERE trial = 1").run();
    });
    const { status, printed, stderr } = await compared();
    expect(status).toBe(1);
    expect(printed.altered).toEqual(['t-000000000001']);
    const out = folder.file('altered.pdf');
    const refused = await chambersideHere('study-report', '--study', study, '--out', out);
    expect([refused.status, refused.stderr]).toEqual([1, expect.stringContaining('t-000000000001')]);
    expect(existsSync(out)).toBe(false);
    expect(stderr).toMatch(/NOT WHAT WAS RECORDED/);
  });

  it('exits with 1 where no trial has a value', async () => {
    const empty = folder.file('empty.chamberside');
    const about = { seed: 1, subjects: 1, ensembles: ['A'], repeats: 1, virtual: true, name: 'Empty' };
    await makeStudyFile({ ...about, path: empty, notAssessed: [1] });
    const { status, stderr, stdout } = await chambersideHere('compare', '--study', empty);
    expect(status).toBe(1);
    expect(stdout).toMatch(/not assessed/);
    expect(stderr).toMatch(/no trial of the study has a value/);
  });
});
