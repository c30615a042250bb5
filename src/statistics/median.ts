/**
 * The middle value, or the mean of the two in the middle.
 * @param values at least one, finite.
 */
export function median(values: ArrayLike<number>): number {
  const ascending = Float64Array.from(values).sort();
  const upper = ascending[ascending.length >>> 1] as number;
  const lower = ascending[(ascending.length - 1) >>> 1] as number;
  return (lower + upper) / 2;
}
