import { describe, expect, it } from 'vitest';
import type { Contribution } from '../../src/leakage/budget/contribution.ts';
import { gatherContributions, weightedContributions } from '../../src/leakage/budget/contribution.ts';
import type { BudgetLineName } from '../../src/leakage/budget/line.ts';
import { budgetLineNames } from '../../src/leakage/budget/line.ts';
import { coverageFactor, uncertaintyOf } from '../../src/leakage/budget/uncertainty.ts';
import type { LineFreedom } from '../../src/leakage/budget/uncertainty.ts';

const [first, second, third, fourth] = ['dilution', 'line-loss', 'challenge', 'transit'] as const;
const endless = Object.fromEntries(budgetLineNames.map((line) => [line, Infinity])) as Record<BudgetLineName, number>;
const one = (line: BudgetLineName, input: string, standardUncertainty: number, sensitivity = 1): Contribution => ({
  input,
  line,
  standardUncertainty,
  sensitivity,
});

describe('combined uncertainty against JCGM 100:2008 (GUM)', () => {
  // Annex H.1, end-gauge calibration, nm: components as listed in the documentation of the GUM Tree Calculator; ν_eff
  // from memory and recomputed from the unrounded u_c.
  const freedom: LineFreedom = { ...endless, [first]: 18, [second]: 25.6, [third]: 50, [fourth]: 2 };
  const gauge = gatherContributions([
    one(first, 'a', 25),
    one(second, 'b', 9.7),
    one(third, 'c', 2.9),
    one(fourth, 'd', 16.6),
  ]);

  it('H.1: u_c and the effective degrees of freedom of Welch and Satterthwaite', () => {
    const made = uncertaintyOf(100, gauge, freedom);
    expect(made?.standardPercent ?? 0).toBeCloseTo(31.6711, 3);
    expect(made?.degreesOfFreedom ?? 0).toBeCloseTo(16.7646, 3);
    expect(made?.expandedPercent ?? 0).toBeCloseTo(31.6711 * coverageFactor(16.7646), 2);
  });

  it('table G.2: two-sided Student factors of 95 %', () => {
    for (const [degrees, factor] of [
      [1, 12.71],
      [2, 4.3],
      [5, 2.57],
      [10, 2.23],
      [20, 2.09],
      [50, 2.01],
      [Infinity, 1.96],
    ] as const) {
      expect(coverageFactor(degrees)).toBeCloseTo(factor, 2);
    }
  });

  it('5.2: what two results share adds with its sign, what they do not share by its square', () => {
    const left = gatherContributions([one(first, 'shared', 0.3, 2), one(first, 'left', 0.4)]);
    const right = gatherContributions([one(first, 'shared', 0.3, 2), one(first, 'right', 0.4)]);
    const sum = weightedContributions([
      { weight: 1, contributions: left },
      { weight: 1, contributions: right },
    ]);
    const difference = weightedContributions([
      { weight: 1, contributions: left },
      { weight: -1, contributions: right },
    ]);
    expect(uncertaintyOf(1, sum, endless)?.standardPercent ?? 0).toBeCloseTo(Math.sqrt(1.2 ** 2 + 2 * 0.4 ** 2), 12);
    expect(uncertaintyOf(1, difference, endless)?.standardPercent ?? 0).toBeCloseTo(Math.sqrt(2 * 0.4 ** 2), 12);
    expect([...difference.keys()].sort()).toEqual(['left', 'right', 'shared']);
  });

  it('says nothing where nothing contributes', () => {
    expect(uncertaintyOf(1, gatherContributions([one(first, 'a', 0), one(second, 'b', 1, 0)]), endless)).toBeNull();
  });
});
