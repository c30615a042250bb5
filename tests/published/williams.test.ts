import { describe, expect, it } from 'vitest';
import { williamsSquares } from '../../src/series/williams.ts';

// Squares after E. J. Williams 1949. The first row 0, 1, t−1, 2, t−2, … and the rows below for t = 3, 4 and 6 are
// from memory; that they have the published property (each ordered pair of neighbours once, for odd t twice) is
// computed here from the rows themselves.

function neighbourCounts(rows: readonly (readonly number[])[], count: number): number[][] {
  const counts = Array.from({ length: count }, () => new Array<number>(count).fill(0));
  for (const row of rows) {
    for (let index = 1; index < row.length; index += 1) {
      const before = counts[row[index - 1] as number] as number[];
      const after = row[index] as number;
      before[after] = (before[after] as number) + 1;
    }
  }
  return counts;
}

function rowsAsText(count: number): string[] {
  return williamsSquares(count)
    .flat()
    .map((row) => row.join(''));
}

describe('Williams squares', () => {
  it('gives the known rows for t = 4', () => {
    expect(rowsAsText(4)).toEqual(['0132', '1203', '2310', '3021']);
  });

  it('gives the known rows for t = 6', () => {
    expect(rowsAsText(6)).toEqual(['015243', '120354', '231405', '342510', '453021', '504132']);
  });

  it('gives the known rows for t = 3, in two squares', () => {
    expect(rowsAsText(3)).toEqual(['012', '120', '201', '210', '021', '102']);
  });

  it.each([
    { count: 2, rows: 2, times: 1 },
    { count: 3, rows: 6, times: 2 },
    { count: 4, rows: 4, times: 1 },
    { count: 5, rows: 10, times: 2 },
    { count: 6, rows: 6, times: 1 },
    { count: 31, rows: 62, times: 2 },
    { count: 32, rows: 32, times: 1 },
  ])('t = $count: $rows rows, every ordered pair of neighbours $times times', ({ count, rows, times }) => {
    const squares = williamsSquares(count);
    expect(squares.flat()).toHaveLength(rows);
    const counts = neighbourCounts(squares.flat(), count);
    for (const [before, row] of counts.entries()) {
      for (const [after, seen] of row.entries()) expect(seen).toBe(before === after ? 0 : times);
    }
  });

  it.each([1, 2, 3, 4, 5, 6, 7, 12])('t = %i: every probe once in every position of every square', (count) => {
    const everyone = Array.from({ length: count }, (_, index) => index);
    for (const square of williamsSquares(count)) {
      for (const row of square) expect(row.toSorted((a, b) => a - b)).toEqual(everyone);
      for (let position = 0; position < count; position += 1) {
        expect(square.map((row) => row[position]).toSorted((a, b) => (a as number) - (b as number))).toEqual(everyone);
      }
    }
  });

  it.each([0, -1, 2.5, Number.NaN])('refuses %d probes', (count) => {
    expect(() => williamsSquares(count)).toThrow(RangeError);
  });
});
