import type { StreamDescriptor } from '../../src/model/stream.ts';
import { significant } from '../../src/model/number-text.ts';
import { units } from '../../src/model/unit.ts';

export { significant };

/** Leakage in percent as it is shown: two significant figures. */
export function percentNumber(value: number): string {
  return significant(value, 2);
}

/** A limit in percent, without figures that only fill up. @param figures significant figures at most. */
export function limitNumber(value: number, figures: number): string {
  const text = significant(value, figures);
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/**
 * A reading with its unit: three significant figures, but none beyond what the stream resolves. Without a stream the
 * number alone.
 */
export function readingText(stream: StreamDescriptor | undefined, value: number): string {
  if (stream === undefined) return significant(value, 3);
  const decimals = Math.max(0, Math.ceil(-Math.log10(stream.resolution)));
  const fine = value.toFixed(decimals);
  const coarse = significant(value, 3);
  const text = fine.length < coarse.length ? fine.replace('-', '−') : coarse;
  return `${text}\u00a0${units[stream.unit].symbol}`;
}
