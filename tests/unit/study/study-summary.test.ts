import { describe, expect, it } from 'vitest';
import { publishedRequirements } from '../../../src/study/published-requirements.ts';
import type { Requirement } from '../../../src/study/requirement.ts';
import { requirementStandings } from '../../../src/study/requirement-standing.ts';
import { summariseStudy, type StudySummary, usualQuestions } from '../../../src/study/study-summary.ts';
import {
  meanLeakage,
  rosterOf,
  type StudyCell,
  type StudyTrial,
  subjectLeakage,
} from '../../../src/study/study-trial.ts';

const cell = (percent: number | null, more: Partial<StudyCell> = {}): StudyCell => {
  return { exercise: 'march', probe: 'ankle', percent, limitPercent: 0.01, flagged: false, ...more };
};

let number = 0;
function trial(
  subject: string,
  ensemble: string,
  cells: StudyTrial['cells'],
  more: Partial<StudyTrial> = {},
): StudyTrial {
  number += 1;
  return {
    trial: `t-${number}`,
    subject,
    ensemble,
    virtual: false,
    createdAt: '2026-01-05T08:00:00.000Z',
    sealed: true,
    requirementPercent: null,
    method: cells === null ? null : 'fixed, version 1',
    cells,
    ...more,
  };
}

const summarise = (trials: readonly StudyTrial[], more: Partial<StudySummary['questions']> = {}): StudySummary =>
  summariseStudy(trials, { ...usualQuestions, ...more });
const marksOf = ({ marks }: StudySummary): string[] => marks.map(({ mark }) => mark);

describe('the leakage of a trial', () => {
  it('is the arithmetic mean of its cells, with raw numbers below the limit in it', () => {
    expect(meanLeakage([cell(0.3), cell(0.1), cell(-0.1)])?.percent).toBeCloseTo(0.1, 12);
  });

  it('is below the mean limit where it is less than that, and no other number stands for it', () => {
    const cells = [cell(0.002, { limitPercent: 0.01 }), cell(0.012, { limitPercent: 0.02 })];
    expect(meanLeakage(cells)).toEqual({ percent: 0.015, below: true });
  });

  it('is of the cells that have a value', () => {
    expect(meanLeakage([cell(0.3), cell(null)])).toEqual({ percent: 0.3, below: false });
    expect(meanLeakage([cell(null)])).toBeNull();
    expect(meanLeakage([cell(-0.1, { limitPercent: null })])).toBeNull();
  });

  it('of several trials of a subject is their geometric mean, or below that of values and limits', () => {
    const [low, high] = [{ percent: 0.1, below: false }, { percent: 0.4, below: false }];
    expect(subjectLeakage([low, high]).percent).toBeCloseTo(0.2, 12);
    expect(subjectLeakage([low, high]).below).toBe(false);
    expect(subjectLeakage([{ ...low, below: true }, high]).below).toBe(true);
  });
});

describe('the roster', () => {
  it('says why a trial is in no figure', () => {
    const rows = rosterOf([
      trial('S1', 'A', [cell(0.1)]),
      trial('S2', 'A', [cell(0.1)], { sealed: false }),
      trial('S3', 'A', null),
      trial('S4', 'A', [cell(null)]),
      trial('S5', 'A', [cell(0.1)], { virtual: true }),
    ]);
    expect(rows.map(({ leftOut }) => leftOut)).toEqual([null, 'void', 'not-assessed', 'void', 'virtual']);
  });

  it('keeps trials of the virtual rig where there are no others, and marks them', () => {
    const found = summarise([trial('S1', 'A', [cell(0.1)], { virtual: true })]);
    expect(found.counts).toMatchObject({ counted: 1, virtual: 1 });
    expect(marksOf(found)).toContain('virtual');
  });
});

describe('summariseStudy', () => {
  const subjects = [1, 2, 3, 4, 5, 6];
  const trials = subjects.flatMap((subject) => [
    trial(`S${subject}`, 'A', [cell(0.1 * subject), cell(0.05 * subject ** 1.2, { probe: 'hood' })]),
    trial(`S${subject}`, 'B', [cell(0.25 * subject ** 0.9), cell(0.2 * subject, { probe: 'hood' })]),
  ]);

  it('has the whole first, then the probes, each with every ensemble and pair', () => {
    const found = summarise(trials, { limitsPercent: [0.4] });
    expect(found.scopes.map(({ probe }) => probe)).toEqual([null, 'ankle', 'hood']);
    const [ankle] = found.scopes.slice(1);
    const [a] = ankle?.ensembles ?? [];
    expect(a).toMatchObject({ ensemble: 'A', trials: 6, subjects: 6 });
    const logs = subjects.map((subject) => Math.log(0.1 * subject));
    const mean = Math.exp(logs.reduce((sum, log) => sum + log, 0) / 6);
    expect(a?.summary.known === true ? a.summary.figure.geometricMean : 0).toBeCloseTo(mean, 12);
    expect(ankle?.ratios).toHaveLength(1);
    expect(ankle?.ratios[0]?.ratio.known).toBe(true);
    expect(marksOf(found)).toEqual([]);
    // Whole trials of A: mean of both cells at most 0.4 % for the first five subjects.
    expect(found.shares[0]).toMatchObject({ ensemble: 'A', limitPercent: 0.4, share: { count: 6 } });
  });

  it('takes subjects as the unit: a second trial of everybody makes no second wearer', () => {
    const again = summarise([...trials, ...trials.map((one) => ({ ...one, trial: `${one.trial}-again` }))]);
    expect(again.scopes[0]?.ensembles[0]).toMatchObject({ trials: 12, subjects: 6 });
    expect(again.scopes[0]?.ensembles[0]?.summary).toEqual(summarise(trials).scopes[0]?.ensembles[0]?.summary);
    // Repeats that agree to the last digit show no scatter, and that is said.
    expect(again.repeats).toMatchObject({ known: false });
  });

  it('says in words why a figure is not there, and does not fail', () => {
    const found = summarise(trials.slice(0, 2));
    const [whole] = found.scopes;
    expect(whole?.ensembles[0]?.summary).toMatchObject({ known: false });
    expect(whole?.ratios[0]?.ratio).toMatchObject({ known: false });
    expect(whole?.components).toMatchObject({ known: false });
    expect(marksOf(found)).toEqual(['few-subjects']);
  });

  it('is there for a study without any trial', () => {
    const found = summarise([]);
    expect(found.counts).toMatchObject({ trials: 0, counted: 0 });
    expect(found.scopes).toHaveLength(1);
  });

  it('fits what lies below a limit, gives no tolerance limit there, and marks it', () => {
    const hood = (percent: number): StudyCell => cell(percent, { probe: 'hood' });
    const found = summarise(subjects.map((subject) => trial(`S${subject}`, 'A', [hood(0.004 * subject)])));
    const [one] = found.scopes[1]?.ensembles ?? [];
    expect(one?.summary).toMatchObject({ known: true, figure: { below: 2, method: 'maximum-likelihood' } });
    expect(one?.tolerance).toMatchObject({ known: false });
    expect(marksOf(found)).toContain('below-limit');
  });

  it('marks flags, missing cells, void trials and methods that differ', () => {
    const found = summarise([
      ...trials,
      trial('S7', 'A', [cell(0.2, { flagged: true }), cell(null)]),
      trial('S8', 'A', [cell(0.2)], { method: 'adaptive, version 1' }),
      trial('S9', 'A', null, { sealed: false }),
    ]);
    expect(marksOf(found)).toEqual(['flagged', 'missing', 'void', 'methods-differ']);
    expect(found.counts).toMatchObject({ trials: 15, flagged: 1, void: 1, counted: 14, subjects: 8 });
  });

  it('takes the limits of the plans, and calls nobody passing who cannot be told', () => {
    const limited = subjects.map((subject) =>
      trial(`S${subject}`, 'A', [cell(0.001, { limitPercent: subject < 3 ? 0.3 : 0.01 })], { requirementPercent: 0.1 }),
    );
    expect(summarise(limited).shares).toMatchObject([{ limitPercent: 0.1, open: 2, share: { passed: 4, count: 4 } }]);
  });

  it('counts a subject as passing only where every trial of theirs does', () => {
    const twice = [trial('S1', 'A', [cell(0.1)]), trial('S1', 'A', [cell(0.9)]), trial('S2', 'A', [cell(0.1)])];
    const [share] = summarise(twice, { limitsPercent: [0.5] }).shares;
    expect(share).toMatchObject({ share: { passed: 1, count: 2 }, exceeding: ['S1'] });
  });
});

describe('requirementStandings', () => {
  it('gives each ensemble its verdict, and the share of subjects who keep each rule by themselves', () => {
    const requirement: Requirement = {
      ...(publishedRequirements[0] as Requirement),
      ensembles: { atLeast: 1 },
      valuesPerEnsemble: null,
      rules: [
        { rule: 'rank', of: 'single-values', atLeast: 3, among: 4, limitPercent: 0.5, equality: 'passes' },
        { rule: 'overall-mean', limitPercent: 0.5, equality: 'not-stated' },
        { rule: 'highest-exercise-mean', limitPercent: 0.5, equality: 'passes' },
        {
          rule: 'classes',
          equality: 'fails',
          classes: [{ class: '1', highestExercisePercent: 1, overallPercent: 0.6 }],
        },
      ],
    };
    const trials = [
      trial('S1', 'A', [cell(0.2), cell(0.8, { exercise: 'crawl' })]),
      trial('S2', 'A', [cell(0.1), cell(0.2, { exercise: 'crawl' })]),
    ];
    const [standing] = requirementStandings(requirement, trials, rosterOf(trials), 0.95);
    expect(standing?.verdict.rules[0]?.verdict).toBe('passed');
    expect(standing?.shares.map(({ share, open }) => [share?.passed, share?.count, open])).toEqual([
      [1, 2, 0],
      // 0.5 exactly, and the source does not say: of that subject it cannot be told.
      [1, 1, 1],
      [1, 2, 0],
      [2, 2, 0],
    ]);
  });
});
