import { describe, expect, it } from 'vitest';
import { inwardLeakagePercent } from '../../src/leakage/inward-leakage.ts';
import { classOf, type EnsembleValues, judge } from '../../src/study/judge.ts';
import { publishedRequirements } from '../../src/study/published-requirements.ts';
import type { Requirement, Rule } from '../../src/study/requirement.ts';
import { protectionFactor } from '../../src/leakage/protection-factor.ts';

const named = (name: string): Requirement => {
  const found = publishedRequirements.find((requirement) => requirement.name === name);
  if (found === undefined) throw new Error(`no requirement ${name}`);
  return found;
};

/** Ensembles of `size` values each, from one list in order. */
const ensembles = (values: readonly number[], size: number): EnsembleValues[] =>
  Array.from({ length: values.length / size }, (_, ensemble) => ({
    name: `suit ${ensemble + 1}`,
    virtual: false,
    review: null,
    releasedBy: 'olga',
    doubtfulChecks: [],
    values: values.slice(ensemble * size, (ensemble + 1) * size).map((percent, index) => ({
      exercise: `e${Math.floor(index / 3)}`,
      probe: `p${index % 3}`,
      percent,
      flagged: false,
    })),
  }));

const repeated = (count: number, value: number): number[] => Array.from({ length: count }, () => value);
const ruleVerdict = (name: string, values: readonly number[], size: number, rule: number) =>
  judge(named(name), ensembles(values, size)).rules[rule]?.verdict;

// The limits of ISO 13982-1 rest on memory; a secondary page echoes 8 of 10 at 15 %.
describe('ISO 13982-1', () => {
  it('82 of 90 values at 30.0 % pass, 81 fail', () => {
    expect(ruleVerdict('iso-13982-1', [...repeated(82, 30), ...repeated(8, 99)], 9, 0)).toBe('passed');
    expect(ruleVerdict('iso-13982-1', [...repeated(81, 30), ...repeated(9, 30.1)], 9, 0)).toBe('failed');
  });

  it('8 of 10 suit means at 15.0 % pass, 7 fail', () => {
    expect(ruleVerdict('iso-13982-1', [...repeated(72, 15), ...repeated(18, 60)], 9, 1)).toBe('passed');
    expect(ruleVerdict('iso-13982-1', [...repeated(63, 15), ...repeated(27, 15.1)], 9, 1)).toBe('failed');
  });
});

// Means seen on secondary pages, the rest from memory.
it('EN 149: 46 of 50 at 11 % with 8 of 10 means at 8 % pass class 2', () => {
  // Ten wearers: eight with a mean of 8, two beyond; four single values beyond 11.
  const wearer = [8, 8, 8, 8, 8];
  const values = [...Array.from({ length: 8 }, () => wearer).flat(), ...[11, 11, 11, 12, 12], ...[11, 11, 11, 12, 12]];
  expect(judge(named('en-149-ffp2'), ensembles(values, 5)).verdict).toBe('passed');
  const worse = values.map((value, index) => (index === 0 ? 11.1 : value));
  expect(judge(named('en-149-ffp2'), ensembles(worse, 5)).verdict).toBe('failed');
});

describe('EN 1073-2 (three secondary summaries agree)', () => {
  const rule = named('en-1073-2').rules[0] as Extract<Rule, { rule: 'classes' }>;

  it.each([
    [2.4, 1.9, '2'],
    [2.9, 2.1, '1'],
    [0.29, 0.19, '3'],
    [31, 19, null],
  ])('highest exercise %f %%, all %f %%: class %s', (highest, all, expected) => {
    expect(classOf(rule, highest, all)).toBe(expected);
  });

  it('1.9 % is a protection factor of 52.63, 0.05 % one of 2000 (computed: 100/IL)', () => {
    expect(Math.abs((protectionFactor(1.9) ?? 0) - 52.63)).toBeLessThan(0.01);
    expect(Math.abs((protectionFactor(0.05) ?? 0) / 2000 - 1)).toBeLessThan(1e-12);
    expect(inwardLeakagePercent(0.19, 0, 0, 10)).toBeCloseTo(1.9, 12);
  });
});

it('the classes of EN 1073 agree with 100 over their limit for all exercises (computed)', () => {
  const factors = (name: string) =>
    named(name).rules.flatMap((rule) =>
      rule.rule === 'classes' ? rule.classes.map(({ overallPercent }) => Math.round(100 / overallPercent)) : [],
    );
  expect(factors('en-1073-2')).toEqual([500, 50, 5]);
  expect(factors('en-1073-1')).toEqual([50_000, 20_000, 10_000, 5000, 2000]);
});
