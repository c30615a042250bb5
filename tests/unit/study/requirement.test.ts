import { describe, expect, it } from 'vitest';
import { isChambersideError } from '../../../src/model/error-code.ts';
import { type EnsembleValues, judge } from '../../../src/study/judge.ts';
import { publishedRequirements } from '../../../src/study/published-requirements.ts';
import { parseRequirement, type Requirement } from '../../../src/study/requirement.ts';

const own: Requirement = {
  name: 'house-rule',
  title: 'House rule',
  edition: '2026',
  source: 'the laboratory',
  basis: 'text',
  ensembles: { exactly: 2 },
  valuesPerEnsemble: 2,
  rules: [{ rule: 'overall-mean', limitPercent: 2, equality: 'passes' }],
};

const ensemble = (...values: readonly (number | null)[]): EnsembleValues => ({
  name: 'suit',
  virtual: false,
  review: null,
  releasedBy: 'olga',
  doubtfulChecks: [],
  values: values.map((percent, index) => ({ exercise: `e${index}`, probe: 'p', percent, flagged: false })),
});

describe('judge', () => {
  it('passes the mean at its limit where equality passes, fails it where it fails, and says neither elsewhere', () => {
    const both = [ensemble(1, 3), ensemble(1, 3)];
    const at = (equality: 'passes' | 'fails' | 'not-stated') =>
      judge({ ...own, rules: [{ rule: 'overall-mean', limitPercent: 2, equality }] }, both);
    expect(at('passes')).toMatchObject({ verdict: 'passed', doubts: [] });
    expect(at('fails').verdict).toBe('failed');
    expect(at('not-stated').verdict).toBe('not-evaluated');
    expect(at('not-stated').rules[0]?.because).toMatch(/exactly the limit/);
  });

  it('takes the exercise with the highest mean over ensembles', () => {
    const rule = { rule: 'highest-exercise-mean', limitPercent: 3, equality: 'passes' } as const;
    const verdict = judge({ ...own, rules: [rule] }, [ensemble(1, 3), ensemble(2, 4)]);
    expect(verdict.verdict).toBe('failed');
    expect(verdict.rules[0]?.because).toMatch(/e1.*3\.5 %/);
  });

  it('leaves a rank open only where equal values decide it', () => {
    const rank = (limitPercent: number) =>
      judge(
        {
          ...own,
          rules: [{ rule: 'rank', of: 'single-values', atLeast: 3, among: 4, limitPercent, equality: 'not-stated' }],
        },
        [ensemble(1, 2), ensemble(3, 4)],
      ).verdict;
    expect(rank(3)).toBe('not-evaluated');
    expect(rank(4)).toBe('passed');
    expect(rank(2)).toBe('failed');
  });

  it.each([
    ['one ensemble too few', [ensemble(1, 1)], /2 ensembles/],
    ['one too many', [ensemble(1, 1), ensemble(1, 1), ensemble(1, 1)], /2 ensembles/],
    ['none', [], /no ensembles/],
    ['a value too many', [ensemble(1, 1), ensemble(1, 1, 1)], /2 values/],
    ['a missing value', [ensemble(1, 1), ensemble(1, null)], /no value for e1/],
    ['a value that is no number', [ensemble(1, 1), ensemble(1, NaN)], /no value for e1/],
  ])('does not evaluate %s', (_, ensembles, why) => {
    const verdict = judge(own, ensembles);
    expect(verdict.verdict).toBe('not-evaluated');
    expect(verdict.rules[0]?.because).toMatch(why);
  });

  it('does not evaluate a rank among another number of values', () => {
    const rank = { rule: 'rank', of: 'ensemble-means', limitPercent: 5, equality: 'passes' } as const;
    const verdict = judge({ ...own, rules: [{ ...rank, atLeast: 1, among: 3 }] }, [ensemble(1, 1), ensemble(1, 1)]);
    expect(verdict.verdict).toBe('not-evaluated');
  });

  it('fails when one rule failed, although another was not evaluated', () => {
    const verdict = judge(
      { ...own, rules: [...own.rules, { rule: 'overall-mean', limitPercent: 9, equality: 'not-stated' }] },
      [ensemble(9, 9), ensemble(9, 9)],
    );
    expect(verdict.rules.map((rule) => rule.verdict)).toEqual(['failed', 'not-evaluated']);
    expect(verdict.verdict).toBe('failed');
  });

  it('carries source, flags and virtual rig to every verdict', () => {
    const flagged: EnsembleValues = {
      ...ensemble(1, 1),
      virtual: true,
      values: ensemble(1, 1).values.map((value, index) => ({ ...value, flagged: index === 0 })),
    };
    for (const ensembles of [[flagged, ensemble(1, 1)], [flagged]]) {
      expect(judge({ ...own, basis: 'memory' }, ensembles).doubts).toEqual([
        'from memory: verify against the standard',
        `rests on flagged numbers: 1 of ${ensembles.length * 2}`,
        'virtual rig: no result of a real ensemble',
      ]);
    }
  });
});

describe('what a verdict rests on', () => {
  it('names each ensemble with a check that did not hold, and each that a reviewer had assessed', () => {
    const doubted: EnsembleValues[] = [
      { ...ensemble(1, 1), name: 't-1', doubtfulChecks: ['zero'] },
      { ...ensemble(1, 1), name: 't-2', doubtfulChecks: ['span', 'dilution, Ankle'] },
      { ...ensemble(1, 1), name: 't-3', review: { person: 'rita', leftOut: 2 } },
      { ...ensemble(1, 1), name: 't-4', review: { person: 'otto', leftOut: 0 } },
      ensemble(1, 1),
    ];
    expect(judge({ ...own, ensembles: { exactly: 5 } }, doubted)).toMatchObject({
      verdict: 'passed',
      doubts: [
        't-1 rests on a check that was overdue or had failed: zero',
        't-2 rests on checks that were overdue or had failed: span; dilution, Ankle',
        't-3 counts as the reviewer rita had it assessed, 2 stretches left out',
        't-4 counts as the reviewer otto had it assessed, nothing left out',
      ],
    });
  });

  it('says which real ensembles count by what nobody has released', () => {
    const unreleased = [ensemble(1, 1), { ...ensemble(1, 1), releasedBy: null }];
    const two = { ...own, ensembles: { exactly: 2 } };
    expect(judge(two, unreleased).doubts).toEqual([
      '1 of 2 trials counts by an assessment that nobody has released',
    ]);
    const virtual = unreleased.map((one) => ({ ...one, virtual: true }));
    expect(judge(two, virtual).doubts).toEqual(['virtual rig: no result of a real ensemble']);
  });
});

describe('requirements as data', () => {
  it.each(publishedRequirements.map((requirement) => [requirement.name, requirement] as const))(
    '%s satisfies the schema, and says that it is to be verified',
    (_, requirement) => {
      expect(parseRequirement(JSON.parse(JSON.stringify(requirement)), 'shipped')).toEqual(requirement);
      expect(judge(requirement, []).doubts[0]).toMatch(/verify against the standard/);
    },
  );

  it('have names of their own', () => {
    expect(new Set(publishedRequirements.map(({ name }) => name)).size).toBe(publishedRequirements.length);
  });

  const rank = { rule: 'rank', of: 'single-values', atLeast: 5, among: 4, limitPercent: 3, equality: 'passes' };
  const classes = (...limits: number[]) => ({
    rule: 'classes',
    equality: 'fails',
    classes: limits.map((limit) => ({ class: 'x', highestExercisePercent: limit, overallPercent: limit })),
  });
  it.each([
    ['no object', null, /requirement/],
    ['a name with blanks', { ...own, name: 'House rule' }, /name/],
    ['no source', { ...own, source: '' }, /source/],
    ['no rules', { ...own, rules: [] }, /rules/],
    ['a field nobody knows', { ...own, limit: 3 }, /limit/],
    ['a rank beyond its number', { ...own, rules: [rank] }, /rules/],
    ['no equality rule', { ...own, rules: [{ rule: 'overall-mean', limitPercent: 3 }] }, /rules/],
    ['a limit in parts of one hundred and more', { ...own, rules: [{ ...rank, limitPercent: 300 }] }, /rules/],
    ['classes from the worst to the best', { ...own, rules: [classes(3, 1)] }, /rules/],
  ])('refuses %s, and names the field', (_, data, field) => {
    try {
      parseRequirement(data, 'own.json');
      expect.unreachable();
    } catch (error) {
      if (!isChambersideError(error, 'configuration-invalid')) throw error;
      expect(error.what).toMatch(field);
      expect(error.where).toBe('own.json');
    }
  });
});
