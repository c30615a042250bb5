import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { chanceBelowLimit, subjectsForShare } from '../../src/study/plan/limit-plan.ts';
import { contrastPower, type PlannedContrast, subjectsForPower } from '../../src/study/plan/power.ts';
import { planFiguresApart, planRows } from '../support/r/plan-rows.ts';

/** Groups of subjects whose logarithms scatter by 1. */
const groups: PlannedContrast = {
  scatter: { subject: Math.E, interaction: 1, trial: 1 },
  ...{ design: 'separate', trials: 1, confidence: 0.95, ratios: 1 },
};

describe('power of comparing two groups', () => {
  it('is a little below that of the example in the manual of power.t.test of R, which is of the pooled t', () => {
    // n = 20, delta = 1, sd = 1: power 0.8689528.
    const { power } = contrastPower(groups, Math.E, 20);
    expect(power).toBeLessThan(0.8689528);
    expect(power).toBeGreaterThan(0.8689528 - 0.003);
    // power 0.90, delta 1: n = 22.02110.
    expect(subjectsForPower(groups, Math.E, 0.9)?.subjects).toBe(23);
  });

  it.each([
    [0.2, 393],
    [0.5, 64],
    [0.8, 26],
  ])('needs for an effect of %d standard deviations %i in each group, for 80 %', (effect, subjects) => {
    // J. Cohen, Psychological Bulletin 112 (1992) 155, table 2, from memory.
    const { subjects: own = 0 } = subjectsForPower(groups, Math.exp(effect), 0.8) ?? {};
    // His tables round: 0.2 asks for 394 where the power is computed to the last digit.
    expect(Math.abs(own - subjects)).toBeLessThanOrEqual(1);
  });
});

describe('numbers that prove a share', () => {
  // Computed from n ≥ ln(1 − confidence)/ln share; the classical 22, 29 and 59.
  it.each([
    [0.9, 0.9, 22],
    [0.9, 0.95, 29],
    [0.95, 0.95, 59],
    [0.8, 0.8, 8],
  ])('%d of wearers, %d sure, without a failure: %i', (share, confidence, count) => {
    expect(subjectsForShare(share, confidence, 0)).toBe(count);
    expect(Math.ceil(Math.log(1 - confidence) / Math.log(share))).toBe(count);
  });
});

describe('R (4.2.2: power.t.test with strict = TRUE, integrate, pt, qt, binom.test)', () => {
  const rows = planRows(readFileSync(new URL('../../fixtures/r/plan.csv', import.meta.url), 'utf8'));

  it('has the same powers, half widths, chances and numbers', () => {
    expect(rows.length).toBeGreaterThan(500);
    expect(new Set(rows.map(({ figure }) => figure)).size).toBe(7);
    expect(planFiguresApart(rows)).toEqual([]);
  });

  it('would show a wrong number', () => {
    const some = rows.filter((_, index) => index % 11 === 0);
    const wrong = some.map((row) => ({ ...row, value: row.value * 1.000001 + 1e-8 }));
    expect(wrong.length).toBeGreaterThan(50);
    expect(planFiguresApart(wrong).length).toBe(wrong.length);
  });

  it('agrees that a limit that lies at the share itself is kept with a chance of 1 − confidence', () => {
    // ln L = µ + z(0.8) σ: by the definition of a tolerance limit.
    const asked = { meanPercent: 1, scatter: { subject: 2, interaction: 1, trial: 1 }, trials: 1 };
    const limitPercent = Math.exp(0.8416212335729143 * Math.log(2));
    for (const subjects of [3, 10, 50]) {
      const found = chanceBelowLimit({ ...asked, limitPercent, coverage: 0.8, confidence: 0.9 }, subjects);
      expect(found).toBeCloseTo(0.1, 9);
    }
  });
});
