/** A printed step: what, the number, its unit, and where it comes from. */
export type Row = readonly [what: string, number: string, unit?: string, note?: string];

/** Rows under each other: what on the left, numbers with their points above each other. */
export function rows(all: readonly Row[]): string[] {
  const left = Math.max(...all.map(([what]) => what.length), 34);
  const before = Math.max(...all.map(([, number]) => wholePart(number)), 6);
  const whole = Math.max(...all.map(([, number]) => before - wholePart(number) + number.length));
  return all.map(([what, number, unit = '', note = '']) => {
    const shifted = `${' '.repeat(before - wholePart(number))}${number}`.padEnd(whole);
    return `  ${what.padEnd(left)}  ${shifted} ${unit}${note === '' ? '' : `  (${note})`}`.trimEnd();
  });
}

function wholePart(number: string): number {
  const point = number.indexOf('.');
  return point < 0 ? number.length : point;
}
