import { describe, expect, it } from 'vitest';
import { assessWithWorkings } from '../../../../src/leakage/assess.ts';
import { checkBudget } from '../../../../src/leakage/budget/check.ts';
import { budgetLineNames } from '../../../../src/leakage/budget/line.ts';
import type { BudgetLineName } from '../../../../src/leakage/budget/line.ts';
import { drawResult } from '../../../../src/leakage/budget/monte-carlo.ts';
import type { PartModel } from '../../../../src/leakage/budget/part-model.ts';
import { firstMethod } from '../../../../src/leakage/default-method.ts';
import { studentQuantile } from '../../../../src/statistics/distributions.ts';
import { syntheticTrial } from '../../../support/synthetic-trial.ts';

const endless = Object.fromEntries(budgetLineNames.map((line) => [line, Infinity])) as Record<BudgetLineName, number>;
const empty: PartModel = { net: 1, spanNet: 10, scale: 2, above: [], below: [], factors: [] };

describe('a drawn result', () => {
  it('is normal where one normal input acts, and t where its scatter rests on few differences', () => {
    const input = { input: 'challenge', line: 'challenge', standardUncertainty: 0.3 } as const;
    const model: PartModel = { ...empty, above: [{ ...input, coefficient: 0.5 }] };
    const normal = drawResult([{ weight: 1, model }], endless, 400_000, 7);
    expect(normal.meanPercent).toBeCloseTo(2, 2);
    expect(normal.standardPercent).toBeCloseTo(0.3, 2);
    expect((normal.highPercent - normal.lowPercent) / 2 / 0.3).toBeCloseTo(studentQuantile(0.975, Infinity), 1);
    for (const degrees of [1.6, 5, 7.2, 30]) {
      const drawn = drawResult([{ weight: 1, model }], { ...endless, challenge: degrees }, 400_000, 7);
      const half = (drawn.highPercent - drawn.lowPercent) / 2 / 0.3;
      expect(half / studentQuantile(0.975, degrees), `${degrees} degrees`).toBeGreaterThan(0.98);
      expect(half / studentQuantile(0.975, degrees), `${degrees} degrees`).toBeLessThan(1.02);
    }
  });

  it('has the mean and the skew of a quotient, which first order cannot show', () => {
    const below = [{ input: 'reading 1', line: 'reference-noise', standardUncertainty: 1, coefficient: 1 } as const];
    const drawn = drawResult([{ weight: 1, model: { ...empty, below } }], endless, 400_000, 3);
    // 2 · 10/(10 + x): the mean is 2 (1 + 0.01 + 3 · 10⁻⁴ …), the interval 2 · 10/(10 ± 1.96).
    expect(drawn.meanPercent).toBeCloseTo(2 * 1.0103, 2);
    expect(drawn.lowPercent).toBeCloseTo(20 / 11.96, 2);
    expect(drawn.highPercent).toBeCloseTo(20 / 8.04, 1);
  });

  it('shares an input between its parts: what they share does not average out', () => {
    const factor = (input: string) =>
      ({ input, line: 'dilution', standardUncertainty: 0.05, value: 1, power: 1 }) as const;
    const both = (first: string, second: string) =>
      drawResult(
        [
          { weight: 0.5, model: { ...empty, factors: [factor(first)] } },
          { weight: 0.5, model: { ...empty, factors: [factor(second)] } },
        ],
        endless,
        200_000,
        1,
      ).standardPercent;
    expect(both('dilution 1', 'dilution 1')).toBeCloseTo(0.1, 3);
    expect(both('dilution 1', 'dilution 2')).toBeCloseTo(0.1 / Math.SQRT2, 3);
  });

  it('is the same for the same seed and another for another, and refuses too few draws', () => {
    const above = [{ input: 'reading 1', line: 'window-noise', standardUncertainty: 1, coefficient: 1 } as const];
    const draw = (seed: number) => drawResult([{ weight: 1, model: { ...empty, above } }], endless, 2000, seed);
    expect(draw(1)).toEqual(draw(1));
    expect(draw(1).lowPercent).not.toBe(draw(2).lowPercent);
    expect(() => drawResult([{ weight: 1, model: empty }], endless, 999, 1)).toThrow(RangeError);
  });
});

describe('the check of a budget', () => {
  it('agrees with the stated interval of every cell, by the bound of its degrees of freedom', () => {
    // Many exercises: then the course of the challenge has enough differences for the close bound in no case.
    const { record } = syntheticTrial({ seed: 11, exercises: 10, noise: 4e-5 });
    const { cells, freedom } = assessWithWorkings(record, firstMethod);
    const bounds = new Set<number>();
    for (const cell of cells) {
      const check = checkBudget(cell, freedom, 40_000, 1);
      if (check === null) throw new Error('every cell has an interval');
      bounds.add(check.boundPercent);
      expect(check.agrees, `${cell.shown.exercise} ${cell.shown.probe}: ${check.differencePercent}`).toBe(true);
      expect(Math.abs(check.meanPercent / (cell.shown.windowPercent ?? 1) - 1)).toBeLessThan(0.005);
    }
    expect(bounds.size).toBeGreaterThan(0);
  });

  it('finds out an interval that is too narrow', () => {
    const { record } = syntheticTrial({ seed: 11, exercises: 4, noise: 4e-5 });
    const { cells, freedom } = assessWithWorkings(record, firstMethod);
    const [cell] = cells;
    if (cell === undefined) throw new Error('there is no cell');
    const half = 0.85 * (cell.shown.windowExpandedPercent ?? 0);
    const narrow = { ...cell, shown: { ...cell.shown, windowExpandedPercent: half } };
    expect(checkBudget(narrow, freedom, 40_000, 1)?.agrees).toBe(false);
    const unknown = { ...cell, shown: { ...cell.shown, windowExpandedPercent: null } };
    expect(checkBudget(unknown, freedom, 2000, 1)).toBeNull();
  });
});
