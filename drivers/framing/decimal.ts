// Each alternative begins differently, so that matching is linear.
const decimalNumber = /^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?$/;

/**
 * A decimal number, signed or not, with or without exponent. Undefined for anything else: empty, `nan`, `inf`,
 * hexadecimal, and numbers too large to be represented. Negative zero is zero.
 */
export function parseDecimal(text: string, decimalMark: '.' | ','): number | undefined {
  const plain = decimalMark === ',' ? (text.includes('.') ? '' : text.replace(',', '.')) : text;
  if (!decimalNumber.test(plain)) return undefined;
  const value = Number(plain);
  return Number.isFinite(value) ? value + 0 : undefined;
}

/** Digits after the mark that a resolution needs, 0 to 12. */
export function decimalsFor(resolution: number): number {
  return Math.min(12, Math.max(0, Math.ceil(-Math.log10(resolution) - 1e-9)));
}

/** A text for a message: quoted, and no longer than a line of a screen. */
export function shown(text: string): string {
  return JSON.stringify(text.length > 80 ? `${text.slice(0, 80)}…` : text);
}
