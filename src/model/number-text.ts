/**
 * A number to a count of significant figures, never in powers of ten, with a proper minus. Zero is `0`.
 * @param figures 1 to 15
 */
export function significant(value: number, figures: number): string {
  if (value === 0) return '0';
  const exponent = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(figures)))));
  const decimals = Math.max(0, figures - 1 - exponent);
  const rounded = Number(value.toPrecision(figures));
  return (decimals > 15 ? rounded.toFixed(15) : rounded.toFixed(decimals)).replace('-', '−');
}
