import { describe, expect, it } from 'vitest';
import { passingShare } from '../../../src/study/passing-share.ts';
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
    voided: null,
    requirementPercent: null,
    method: cells === null ? null : 'fixed, version 1',
    review: null,
    released: { person: 'olga', at: '2026-01-06T08:00:00.000Z' },
    doubtfulChecks: [],
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
    expect(rows.map(({ leftOut }) => leftOut)).toEqual([null, 'no-result', 'not-assessed', 'no-result', 'virtual']);
  });

  it('has a reason for a mean that has no place on a log scale, and holds it against limits all the same', () => {
    const trials = [
      trial('S1', 'A', [cell(0.1)]),
      trial('S2', 'A', [cell(-0.1, { limitPercent: null })]),
      trial('S3', 'A', [cell(0.1)], { virtual: true }),
    ];
    const found = summarise(trials, { limitsPercent: [0.5] });
    expect(found.roster.map(({ leftOut }) => leftOut)).toEqual([null, 'not-above-zero', 'virtual']);
    expect(found.counts.counted).toBe(1);
    expect(marksOf(found)).toContain('not-above-zero');
    expect(found.shares).toMatchObject([{ open: 1, share: { passed: 1, count: 1 } }]);
    const [requirement] = publishedRequirements;
    const [standing] = requirementStandings(requirement as Requirement, trials, found.roster, 0.95);
    expect(standing?.shares[0]?.share?.count).toBe(2);
    // A real trial is a real trial, whatever its mean.
    expect(rosterOf(trials.slice(1)).map(({ leftOut }) => leftOut)).toEqual(['not-above-zero', 'virtual']);
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
    expect(marksOf(found)).toEqual(['flagged', 'missing', 'no-result', 'methods-differ']);
    expect(found.counts).toMatchObject({ trials: 15, flagged: 1, noResult: 1, counted: 14, subjects: 8 });
  });

  it('marks trials that rest on a check that did not hold, and those that a reviewer had assessed', () => {
    const found = summarise([
      ...trials,
      trial('S7', 'A', [cell(0.2)], { doubtfulChecks: ['zero', 'dilution, Ankle'] }),
      trial('S8', 'A', [cell(0.2)], { review: { person: 'rita', leftOut: 2 } }),
      trial('S8', 'B', [cell(0.2)], { review: { person: 'otto', leftOut: 0 } }),
    ]);
    expect(found.marks).toEqual([
      {
        mark: 'check-not-valid',
        text: '1 of 15 trials rest on checks that were overdue or had failed: zero; dilution, Ankle.',
      },
      {
        mark: 'reviewed',
        text: '2 of 15 trials count as a reviewer had them assessed: rita, otto; of 1 something is left out.',
      },
    ]);
    expect(found.roster.slice(-3)).toMatchObject([
      { doubtfulChecks: ['zero', 'dilution, Ankle'], review: null },
      { doubtfulChecks: [], review: { person: 'rita', leftOut: 2 } },
      { review: { person: 'otto', leftOut: 0 } },
    ]);
  });

  it('says how many real trials count by what nobody has released, and by whom the others are', () => {
    const open: Partial<StudyTrial> = { released: undefined as never };
    const found = summarise([...trials, trial('S7', 'A', [cell(0.2)], open), trial('S8', 'B', [cell(0.2)], open)]);
    const text = '2 of 14 trials count by an assessment that nobody has released.';
    expect(found.marks).toEqual([{ mark: 'not-released', text }]);
    expect(found.roster.slice(-3).map(({ releasedBy }) => releasedBy)).toEqual(['olga', null, null]);
    const virtual = trial('S7', 'A', [cell(0.2)], { ...open, virtual: true });
    expect(marksOf(summarise([virtual]))).not.toContain('not-released');
  });

  it('says of components in words that values lie below a limit, and only of those who wore everything', () => {
    const low = trial('S7', 'A', [cell(0.001)]);
    expect(summarise([...trials, low]).scopes[0]?.components).toMatchObject({
      known: true,
      figure: { subjects: 6, subjectsLeftOut: 1 },
    });
    const components = summarise([...trials, low, trial('S7', 'B', [cell(0.2)])]).scopes[0]?.components;
    expect(components?.known === false ? components.because : '').toBe(
      'Of 14 trials of subjects who wore all, below their detection limit 1. ' +
        'Look at a probe where every value is above its detection limit.',
    );
  });

  it('has one pair of trials of each subject, in the ensemble that was first worn twice', () => {
    const twice = subjects.slice(0, 4).flatMap((subject) => [
      trial(`S${subject}`, 'A', [cell(0.1)]),
      trial(`S${subject}`, 'B', [cell(0.3)]),
      trial(`S${subject}`, 'B', [cell(0.9)]),
      trial(`S${subject}`, 'A', [cell(0.1 * (1 + 0.1 * subject))]),
    ]);
    const { repeats } = summarise(twice);
    const mean = [1.1, 1.2, 1.3, 1.4].reduce((sum, factor) => sum + Math.log(factor), 0) / 4;
    expect(repeats).toMatchObject({ known: true, figure: { pairs: 4 } });
    expect(repeats.known ? repeats.figure.bias : Number.NaN).toBeCloseTo(mean, 12);
  });

  it('takes no stopped trial and the one that goes on with it for test and retest, nor for replicates', () => {
    const parts = (subject: number, ensemble: string, percent: number): StudyTrial[] => {
      const stopped = trial(`S${subject}`, ensemble, [cell(percent)]);
      return [stopped, trial(`S${subject}`, ensemble, [cell(9 * percent)], { continues: stopped.trial })];
    };
    const found = summarise([...trials, ...parts(1, 'A', 0.1), ...parts(2, 'B', 0.2)]);
    expect(found.counts.counted).toBe(trials.length + 4);
    expect(found.repeats.known).toBe(false);
    expect(found.scopes[0]?.components).toEqual(summarise(trials).scopes[0]?.components);
  });

  it('counts void trials neither as assessed nor as flagged, and asks for no share of their limits', () => {
    const voided = { voided: { person: 'rita', reason: 'hose off' }, requirementPercent: 0.5 };
    const found = summarise([...trials, trial('S1', 'A', [cell(0.2, { flagged: true })], voided)]);
    expect(found.counts).toMatchObject({ assessed: trials.length, flagged: 0, void: 1 });
    expect(found.shares).toEqual([]);
  });

  it('counts nobody as keeping a limit whose trial lacks cells, and as exceeding who does so without them', () => {
    const lacking = [
      trial('S1', 'A', [cell(0.1), cell(0.2)]),
      trial('S2', 'A', [cell(0.1), cell(null)]),
      trial('S3', 'A', [cell(0.8), cell(null)]),
      trial('S4', 'A', [cell(1.4), cell(null)]),
      trial('S5', 'A', [cell(0.001), cell(null)]),
    ];
    const [share] = summarise(lacking, { limitsPercent: [0.5] }).shares;
    expect(share).toMatchObject({ share: { passed: 1, count: 2 }, open: 3, exceeding: ['S4'] });
    expect(share?.share?.atLeast).toBe(passingShare(1, 5).atLeast);
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
  const rank = (limitPercent: number): Requirement => ({
    ...(publishedRequirements[0] as Requirement),
    rules: [{ rule: 'rank', of: 'single-values', atLeast: 8, among: 10, limitPercent, equality: 'passes' }],
  });

  it('does not lift a share by leaving out a window of a trial that fails', () => {
    const wearers = (last: StudyTrial): StudyTrial[] => [
      ...Array.from({ length: 8 }, (_, index) => trial(`S${index}`, 'A', [cell(0.1), cell(0.2)])),
      trial('S8', 'A', [cell(0.9), cell(0.9)]),
      last,
    ];
    const shareOf = (trials: StudyTrial[]) =>
      requirementStandings(rank(0.5), trials, rosterOf(trials), 0.95)[0]?.shares[0];
    const whole = shareOf(wearers(trial('S9', 'A', [cell(0.9), cell(0.7)])));
    expect(whole).toMatchObject({ share: { passed: 8, count: 10 }, open: 0 });
    expect(shareOf(wearers(trial('S9', 'A', [cell(0.9), cell(null)])))).toEqual(whole);
    const untold = shareOf(wearers(trial('S9', 'A', [cell(0.3), cell(null)])));
    expect(untold).toMatchObject({ share: { passed: 8, count: 9 }, open: 1 });
    expect(untold?.share?.atLeast).toBe(whole?.share?.atLeast);
  });

  it('takes in a trial of which a reviewer left out everything, as one of which it cannot be told', () => {
    const trials = [
      trial('S1', 'A', [cell(0.1)]),
      trial('S2', 'A', [cell(null)], { review: { person: 'rita', leftOut: 1 } }),
      trial('S3', 'A', [cell(null)]),
    ];
    const roster = rosterOf(trials);
    expect(roster.map(({ leftOut }) => leftOut)).toEqual([null, 'no-result', 'no-result']);
    const [standing] = requirementStandings(rank(0.5), trials, roster, 0.95);
    expect(standing?.shares[0]).toMatchObject({ share: { passed: 1, count: 1 }, open: 1 });
    expect(summarise(trials, { limitsPercent: [0.5] }).shares).toMatchObject([{ open: 1, share: { count: 1 } }]);
  });

  it('tells of no value below its detection limit that it keeps a smaller limit', () => {
    const trials = [trial('S1', 'A', [cell(0.002)]), trial('S2', 'A', [cell(0.002, { limitPercent: 0.004 })])];
    const [standing] = requirementStandings(rank(0.005), trials, rosterOf(trials), 0.95);
    expect(standing?.shares[0]).toMatchObject({ share: { passed: 1, count: 1 }, open: 1 });
  });

  it('carries checks and reviewers to the verdict', () => {
    const doubted = { doubtfulChecks: ['zero'], review: { person: 'rita', leftOut: 1 } };
    const trials = [trial('S1', 'A', [cell(0.1)], doubted)];
    const [standing] = requirementStandings(rank(0.5), trials, rosterOf(trials), 0.95);
    expect(standing?.verdict.doubts.slice(-2)).toEqual([
      expect.stringMatching(/rests on a check that was overdue or had failed: zero$/),
      expect.stringMatching(/counts as the reviewer rita had it assessed, 1 stretch left out$/),
    ]);
  });

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
