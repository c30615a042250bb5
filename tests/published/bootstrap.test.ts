import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { bootstrapRatio } from '../../src/study/bootstrap.ts';
import { bootstrapRows, endsApart } from '../support/r/bootstrap-rows.ts';
import { readSets } from '../support/r/study-rows.ts';

const read = (name: string): string =>
  readFileSync(new URL(`../../fixtures/r/${name}.csv`, import.meta.url), 'utf8');

// Recorded from R 4.2.2 by tests/landing/r/bootstrap.R: sample(), mean() and quantile(), with draws of its own.
describe('intervals by the bootstrap', () => {
  const sets = readSets(read('study-sets'));
  const rows = bootstrapRows(read('bootstrap'));

  it('are those of R, within what both draws leave open', () => {
    expect(rows).toHaveLength(5);
    for (const row of rows) for (const apart of endsApart(row, sets, 1)) expect(apart).toBeLessThan(4.5);
  });

  it('would show an end that is off by half the standard error of the ratio', () => {
    const apart = rows.flatMap((row) => endsApart({ ...row, low: row.low - row.sd / 2, high: row.high }, sets, 1)[0]);
    for (const one of apart) expect(one).toBeGreaterThan(4.5);
  });

  it('are the same from the same seed, and refuse what they do not hold for', () => {
    const of = (ensemble: string, values: readonly number[], below = false) => ({
      ensemble,
      bySubject: new Map(values.map((percent, index) => [`S${index}`, { percent, below }])),
    });
    const a = of('A', [0.1, 0.2, 0.15, 0.3, 0.11, 0.17, 0.23, 0.41, 0.08, 0.19]);
    const b = of('B', [0.2, 0.5, 0.2, 0.9, 0.31, 0.22, 0.61, 0.37, 0.13, 0.71]);
    expect(bootstrapRatio(a, b, 1, 7)).toEqual(bootstrapRatio(a, b, 1, 7));
    expect(bootstrapRatio(a, b, 1, 8).low).not.toBe(bootstrapRatio(a, b, 1, 7).low);
    expect(() => bootstrapRatio(of('A', [0.1, 0.2]), b, 1, 7)).toThrow(/too few subjects/);
    expect(() => bootstrapRatio(of('A', [0.1, 0.2, 0.3], true), b, 1, 7)).toThrow(/below the detection limit/);
  });
});
