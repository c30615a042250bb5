/** Numbers that are not there, both ends included. */
export interface NumberGap {
  readonly from: number;
  readonly to: number;
}

/** Up to this many missing numbers are named one by one; an altered number can open a gap of any size. */
const namedOneByOne = 1000;

/** The gap between two numbers that should follow each other; null where they do. */
export function gapBetween(before: number, after: number): NumberGap | null {
  return after > before + 1 ? { from: before + 1, to: after - 1 } : null;
}

/** Calls back for each missing number while they are few, and once with the whole gap otherwise. */
export function nameGap(gap: NumberGap | null, name: (from: number, to: number) => void): void {
  if (gap === null) return;
  if (gap.to - gap.from >= namedOneByOne) {
    name(gap.from, gap.to);
    return;
  }
  for (let number = gap.from; number <= gap.to; number += 1) name(number, number);
}
