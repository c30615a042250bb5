import { describe, expect, it } from 'vitest';
import type { Rule } from '../../../src/study/requirement.ts';
import { trialHolds } from '../../../src/study/trial-holds.ts';

type Value = Parameters<typeof trialHolds>[1][number];

/** Values of one exercise after the other, all with the same detection limit. */
const values = (percents: readonly (number | null)[], limitPercent: number | null = null): Value[] =>
  percents.map((percent, index) => ({ exercise: `e${index}`, percent, limitPercent }));
const rank = (of: 'single-values' | 'ensemble-means'): Rule => {
  return { rule: 'rank', of, atLeast: 1, among: 2, limitPercent: 0.5, equality: 'passes' };
};
const mean = (rule: 'overall-mean' | 'highest-exercise-mean'): Rule => {
  return { rule, limitPercent: 0.5, equality: 'passes' };
};
const classes: Rule = {
  rule: 'classes',
  equality: 'not-stated',
  classes: [
    { class: '2', highestExercisePercent: 0.4, overallPercent: 0.2 },
    { class: '1', highestExercisePercent: 1, overallPercent: 0.5 },
  ],
};

describe('a trial that lacks values', () => {
  it('exceeds by one value that does, and never keeps a limit', () => {
    expect(trialHolds(rank('single-values'), values([0.8, null]))).toBe(false);
    expect(trialHolds(rank('single-values'), values([0.8, Number.NaN]))).toBe(false);
    expect(trialHolds(rank('single-values'), values([0.1, null]))).toBeNull();
    expect(trialHolds(rank('single-values'), [])).toBeNull();
  });

  it('exceeds a limit on a mean only where it would with zero in their place', () => {
    for (const rule of [rank('ensemble-means'), mean('overall-mean')]) {
      expect(trialHolds(rule, values([1.2, null]))).toBe(false);
      expect(trialHolds(rule, values([0.8, null]))).toBeNull();
      expect(trialHolds(rule, values([0.1, null]))).toBeNull();
    }
  });

  it('exceeds by an exercise that is whole, and is in no class where none can be reached', () => {
    expect(trialHolds(mean('highest-exercise-mean'), values([0.6, 0.1, null]))).toBe(false);
    expect(trialHolds(mean('highest-exercise-mean'), values([0.1, 0.1, null]))).toBeNull();
    expect(trialHolds(classes, values([1.1, null]))).toBe(false);
    expect(trialHolds(classes, values([0.1, null]))).toBeNull();
  });
});

describe('a value below its detection limit', () => {
  it('keeps no limit that is smaller than that, and exceeds none', () => {
    for (const rule of [rank('single-values'), rank('ensemble-means'), mean('overall-mean')]) {
      expect(trialHolds(rule, values([0.3, 0.3], 0.8))).toBeNull();
      expect(trialHolds(rule, values([-0.2, -0.2], 0.8))).toBeNull();
      expect(trialHolds(rule, values([0.6, 0.6], 0.8))).toBeNull();
      expect(trialHolds(rule, values([0.9, 0.9], 0.8))).toBe(false);
    }
    expect(trialHolds(mean('highest-exercise-mean'), values([0.1, 0.1], 0.8))).toBeNull();
    expect(trialHolds(mean('highest-exercise-mean'), values([0.1, 0.9], 0.8))).toBe(false);
  });

  it('keeps a limit that is not smaller, and is what was read where no detection limit is known', () => {
    for (const detection of [0.5, 0.01, null]) {
      expect(trialHolds(rank('single-values'), values([0.3, 0.2], detection))).toBe(true);
      expect(trialHolds(mean('overall-mean'), values([0.3, 0.2], detection))).toBe(true);
    }
  });

  it('reaches a class that it cannot miss, although a better one cannot be told', () => {
    expect(trialHolds(classes, values([0.1, 0.1], 0.3))).toBe(true);
    expect(trialHolds(classes, values([0.1, 0.1], 0.6))).toBeNull();
  });
});
