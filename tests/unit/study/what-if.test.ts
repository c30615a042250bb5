import { describe, expect, it } from 'vitest';
import { summariseStudy, usualQuestions, type StudySummary } from '../../../src/study/study-summary.ts';
import type { StudyTrial } from '../../../src/study/study-trial.ts';
import { answersChangeAt, askedInVain, whatIfDifference } from '../../../src/study/what-if.ts';

const method = 'fixed, version 1';

function trial(number: number, subject: string, ensemble: string, percent: number): StudyTrial {
  return {
    ...{ trial: `t-${number}`, subject, ensemble, virtual: false, createdAt: '2026-01-05T08:00:00.000Z' },
    ...{ sealed: true, voided: null, requirementPercent: null, method, review: null, doubtfulChecks: [] },
    cells: [{ exercise: 'march', probe: 'ankle', percent, limitPercent: 0.001, flagged: false }],
  };
}

/** Four subjects in two ensembles; one trial in B is far above the rest. */
const levels = [
  [0.1, 0.21],
  [0.12, 0.22],
  [0.09, 0.2],
  [0.11, 2.5],
] as const;
const trials = levels.flatMap(([a, b], index) => [
  trial(2 * index, `S${index}`, 'A', a),
  trial(2 * index + 1, `S${index}`, 'B', b),
]);
const questions = { ...usualQuestions, limitsPercent: [0.5] };
const standing = summariseStudy(trials, questions);
const without = (...names: string[]): StudySummary => summariseStudy(trials, questions, new Set(names));

describe('what if a trial were not there', () => {
  it('gives the figures of the study that never had it', () => {
    const never = summariseStudy(
      trials.filter(({ trial: name }) => name !== 't-7'),
      questions,
    );
    const asked = without('t-7');
    expect(asked.scopes).toEqual(never.scopes);
    expect(asked.shares).toEqual(never.shares);
    expect(asked.roster).toHaveLength(8);
    expect(asked.roster[7]?.leftOut).toBe('what-if');
    expect(asked.counts.counted).toBe(7);
    expect(asked.marks.map(({ mark }) => mark)).toContain('what-if');
  });

  it('changes nothing where the trial is put back', () => {
    expect(without()).toEqual(standing);
    expect(whatIfDifference(standing, without())).toMatchObject({ takenOut: 0, otherwiseAssessed: 0 });
    expect(answersChangeAt(whatIfDifference(standing, without()))).toEqual([]);
  });

  it('stands beside what stands, with the difference and what would be said', () => {
    const difference = whatIfDifference(standing, without('t-7'));
    expect(difference).toMatchObject({ counted: 8, takenOut: 1, otherwiseAssessed: 0 });
    const [whole] = difference.places;
    const [ratio] = whole?.ratios ?? [];
    // By hand: geometric means of 2.1, 1.8333, 2.2222 and, with the fourth pair, 22.7273.
    expect(ratio?.standing).toBeCloseTo((2.1 * 1.83333333 * 2.22222222 * 22.7272727) ** (1 / 4), 6);
    expect(ratio?.whatIf).toBeCloseTo((2.1 * 1.83333333 * 2.22222222) ** (1 / 3), 6);
    expect(ratio?.factor).toBeCloseTo((ratio?.whatIf ?? 0) / (ratio?.standing ?? 1), 12);
    expect([ratio?.standingAnswer, ratio?.whatIfAnswer]).toEqual(['not-told-apart', 'upper-leaks-more']);
    expect(answersChangeAt(difference)).toEqual([null, 'ankle']);
    expect(difference.shares).toMatchObject([
      { ensemble: 'A', standing: { passed: 4, count: 4 }, whatIf: { passed: 4, count: 4 } },
      { ensemble: 'B', standing: { passed: 3, count: 4 }, whatIf: { passed: 3, count: 3 } },
    ]);
  });

  it('keeps the ensembles in their order, also one of which no trial is left', () => {
    expect(without('t-0').ensembles).toEqual(['A', 'B']);
    const none = without('t-1', 't-3', 't-5', 't-7');
    expect(none.ensembles).toEqual(['A', 'B']);
    const [whole] = whatIfDifference(standing, none).places;
    expect(whole?.ratios).toMatchObject([{ whatIf: null, whatIfAnswer: 'no-ratio' }]);
  });

  it('lets no trial of the virtual rig in for a real one', () => {
    const mixed = [trial(0, 'S0', 'A', 0.1), { ...trial(1, 'S1', 'A', 0.2), virtual: true }];
    const asked = summariseStudy(mixed, questions, new Set(['t-0']));
    expect(asked.roster.map(({ leftOut }) => leftOut)).toEqual(['what-if', 'virtual']);
    expect(asked.counts.counted).toBe(0);
  });

  it('is asked in vain of a trial that is not there, and of one that is in no figure', () => {
    const some = [...trials, { ...trial(8, 'S9', 'A', 1), sealed: false }];
    const stands = summariseStudy(some, questions);
    expect(askedInVain(some, stands, { without: ['t-1', 't-8', 't-99'], method: null })).toEqual(['t-8', 't-99']);
  });

  it('says how many trials count by another assessment', () => {
    const other = trials.map((one, index) => (index < 3 ? { ...one, method: 'adaptive, version 2' } : one));
    const difference = whatIfDifference(standing, summariseStudy(other, questions));
    expect(difference).toMatchObject({ takenOut: 0, otherwiseAssessed: 3 });
  });

  it('turns no ratio round where another method leaves the first trial without a value', () => {
    const [first, ...rest] = trials as [StudyTrial, ...StudyTrial[]];
    const other = [{ ...first, cells: [{ ...first.cells?.[0], percent: null }] as StudyTrial['cells'] }, ...rest];
    const asked = summariseStudy(other, questions, new Set(), standing);
    expect(summariseStudy(other, questions).ensembles).toEqual(['B', 'A']);
    expect(asked.ensembles).toEqual(['A', 'B']);
    expect(asked.scopes.map(({ probe }) => probe)).toEqual(standing.scopes.map(({ probe }) => probe));
    expect(whatIfDifference(standing, asked).places[0]?.ratios[0]?.whatIf).not.toBeNull();
  });
});
