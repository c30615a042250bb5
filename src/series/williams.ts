/**
 * Rows of port indices in which every index stands in every position equally often (one or two Latin squares)
 * and every ordered pair of neighbours occurs equally often: once for an even count, twice for an odd one.
 *
 * Source: E. J. Williams 1949, in the cyclic construction: first row 0, 1, t−1, 2, t−2, …; each further row adds
 * 1 modulo t; an odd t needs the mirrored square as well.
 *
 * @param count number of probes t, a whole number ≥ 1.
 * @returns one square of t rows for an even count (and for 1), two squares for an odd count.
 * @throws RangeError when the count is not a whole number ≥ 1.
 */
export function williamsSquares(count: number): number[][][] {
  if (!Number.isInteger(count) || count < 1) throw new RangeError('a Williams square needs a whole number of probes');
  const first: number[] = [0];
  for (let low = 1, high = count - 1; first.length < count; low += 1, high -= 1) {
    first.push(low);
    if (first.length < count) first.push(high);
  }
  const square = Array.from({ length: count }, (_, row) => first.map((index) => (index + row) % count));
  if (count === 1 || count % 2 === 0) return [square];
  return [square, square.map((row) => row.toReversed())];
}
