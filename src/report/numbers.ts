import { significant } from '../model/number-text.ts';
import type { Stated } from '../model/rig.ts';
import { units } from '../model/unit.ts';
import type { Unit } from '../model/unit.ts';

/** No-break space: between a value and its unit. */
export const nbsp = '\u00a0';

/** Leakage for a reader who is not a specialist: two significant figures. */
export function percentShort(value: number): string {
  return `${significant(value, 2)}${nbsp}%`;
}

/** Leakage in the tables, percent without its sign: three significant figures. */
export function percentFull(value: number): string {
  return significant(value, 3);
}

/** A reading with its unit: four significant figures. */
export function readingText(value: number, unit: string): string {
  const symbol = Object.hasOwn(units, unit) ? units[unit as Unit].symbol : unit;
  return symbol === '' ? significant(value, 4) : `${significant(value, 4)}${nbsp}${symbol}`;
}

/** A value that somebody set, with its unit: as it was entered. */
export function nominalText(value: number, unit: string): string {
  const symbol = Object.hasOwn(units, unit) ? units[unit as Unit].symbol : unit;
  return symbol === '' ? plainNumber(value) : `${plainNumber(value)}${nbsp}${symbol}`;
}

/** As it was entered, with a proper minus; what arithmetic adds in the last digits is left out. */
export function plainNumber(value: number): string {
  return String(Number(value.toPrecision(12))).replace('-', '−');
}

/** `1.2 ± 0.05 s`: a value with its standard uncertainty. */
export function statedText(stated: Stated, unit: string): string {
  const text = `${plainNumber(stated.value)}${nbsp}±${nbsp}${plainNumber(stated.standardUncertainty)}`;
  return unit === '' ? text : `${text}${nbsp}${unit}`;
}

/** A protection factor: three significant figures, whole from a hundred on. */
export function factorText(value: number): string {
  return significant(value, 3);
}

/**
 * `4.2 of every 1000 parts`: the power of ten at which at least one part is left over. Null for what is not above
 * zero, or so small that nobody can picture it.
 */
export function partsInWords(percent: number): string | null {
  for (const base of [100, 1_000, 10_000, 100_000, 1_000_000]) {
    const parts = (percent / 100) * base;
    if (parts >= 1) return `${significant(parts, 2)} of every ${groupedNumber(base)} parts`;
  }
  return null;
}

/** Thousands set apart from five digits on: `10 000`. */
export function groupedNumber(value: number): string {
  const text = String(value);
  return text.length < 5 ? text : text.replace(/\B(?=(\d{3})+$)/g, nbsp);
}

/** `1 value`, `3 values`. */
export function counted(count: number, one: string, many: string): string {
  return `${groupedNumber(count)}${nbsp}${count === 1 ? one : many}`;
}
