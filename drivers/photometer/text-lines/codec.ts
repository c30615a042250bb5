import type { ProblemCode } from '../../../src/model/reading.ts';
import { convert, unitNames, units } from '../../../src/model/unit.ts';
import type { Unit } from '../../../src/model/unit.ts';
import { sumChecksum, xorChecksum } from '../../framing/checksum.ts';
import { compileTemplate } from '../../framing/template.ts';
import type { TokenText } from '../../framing/template.ts';
import type { PhotometerSettings } from './manifest.ts';

/** Tokens of the line template. */
export const lineTokens: readonly string[] = ['value', 'unit', 'status', 'checksum', 'any'];

export type DecodedLine =
  /** Value in `settings.unit`. */
  | { readonly decoded: 'value'; readonly value: number }
  | { readonly decoded: 'problem'; readonly code: ProblemCode; readonly detail: string };

export interface PhotometerCodec {
  /** Never throws, whatever the line holds. */
  decode(line: string): DecodedLine;
  /** A line that decodes to `value` (in `settings.unit`), rounded to the resolution. */
  encode(value: number, status: string): string;
  /** The same line with a checksum that cannot be right; unchanged where there is none. */
  spoilChecksum(line: string): string;
}

// Each alternative begins differently, so that matching is linear.
const decimalNumber = /^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?$/;
const twoHexDigits = /^[0-9A-Fa-f]{2}$/;

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
function decimalsFor(resolution: number): number {
  return Math.min(12, Math.max(0, Math.ceil(-Math.log10(resolution) - 1e-9)));
}

/**
 * Where the checksum's coverage ends: the characters right before `{checksum}` that it does not cover. `checksumMark`
 * where it is set; otherwise, of the literal characters in front of `{checksum}` up to a blank or a token, those from
 * the last `*` on, or all of them when none is a letter or a digit.
 * @returns null when that cannot be told (`mg/m3;{checksum}`) or `checksumMark` does not stand there.
 */
export function checksumMark(settings: Pick<PhotometerSettings, 'line' | 'checksumMark'>): string | null {
  const before = settings.line.split('{checksum}')[0] ?? '';
  const literals = /[^}\s]*$/.exec(before)?.[0] ?? '';
  if (settings.checksumMark !== null) return before.endsWith(settings.checksumMark) ? settings.checksumMark : null;
  const star = literals.lastIndexOf('*');
  if (star >= 0) return literals.slice(star);
  return /[\p{L}\p{N}]/u.test(literals) ? null : literals;
}

/** Codec of one instrument; the template is compiled once. */
export function createPhotometerCodec(settings: PhotometerSettings): PhotometerCodec {
  const template = compileTemplate(settings.line, lineTokens);
  const unitByWord = new Map<string, Unit>(unitNames.map((unit) => [unit, unit]));
  for (const [word, unit] of Object.entries(settings.unitWords)) unitByWord.set(word, unit);
  const unitWord = Object.entries(settings.unitWords).find(([, unit]) => unit === settings.unit)?.[0] ?? settings.unit;
  const checksumOf = settings.checksum === 'sum-hex' ? sumChecksum : xorChecksum;
  const goodStatus = new Set(settings.goodStatus);
  const decimals = decimalsFor(settings.resolution);

  const mark = checksumMark(settings) ?? '';
  /** What the checksum covers: from the beginning, less the skipped bytes, to right before the mark. */
  const covered = (line: string, checksumFrom: number): string =>
    line.slice(settings.checksumSkipsBytes, Math.max(settings.checksumSkipsBytes, checksumFrom - mark.length));

  const problem = (code: ProblemCode, detail: string): DecodedLine => ({ decoded: 'problem', code, detail });
  const show = (text: string): string => JSON.stringify(text.length > 80 ? `${text.slice(0, 80)}…` : text);

  const checksumProblem = (line: string, token: TokenText): DecodedLine | undefined => {
    if (!twoHexDigits.test(token.text)) return problem('line-undecodable', `no checksum at the end of ${show(line)}`);
    const expected = checksumOf(covered(line, token.from));
    if (token.text.toUpperCase() === expected) return undefined;
    return problem('checksum-wrong', `${show(line)}: checksum ${token.text}, expected ${expected}`);
  };

  return {
    decode(line) {
      const tokens = template.match(line);
      if (tokens === undefined) return problem('line-undecodable', `${show(line)} is not ${show(settings.line)}`);
      const { value, unit, status, checksum } = tokens;
      const wrong = checksum === undefined ? undefined : checksumProblem(line, checksum);
      if (wrong !== undefined) return wrong;
      if (status !== undefined && !goodStatus.has(status.text)) {
        return problem('status-bad', `status ${show(status.text)} in ${show(line)}`);
      }
      const number = parseDecimal(value?.text ?? '', settings.decimalMark);
      if (number === undefined) return problem('line-undecodable', `no number in ${show(line)}`);
      if (unit === undefined) return { decoded: 'value', value: number };
      const from = unitByWord.get(unit.text);
      if (from === undefined) return problem('line-undecodable', `unknown unit ${show(unit.text)} in ${show(line)}`);
      if (units[from].quantity !== units[settings.unit].quantity) {
        const expected = `${settings.unit}, a ${units[settings.unit].quantity}`;
        return problem('line-undecodable', `unit ${from} in ${show(line)} where ${expected}, is expected`);
      }
      const converted = convert(number, from, settings.unit);
      if (!Number.isFinite(converted)) return problem('line-undecodable', `number too large in ${show(line)}`);
      return { decoded: 'value', value: converted };
    },
    encode(value, status) {
      const text = value.toFixed(decimals).replace('.', settings.decimalMark);
      const body = template.format({ value: text, unit: unitWord, status, checksum: '' });
      if (settings.checksum === 'none') return body;
      const probe = template.format({ value: text, unit: unitWord, status, checksum: '00' });
      const from = template.match(probe)?.['checksum']?.from ?? body.length;
      const sum = checksumOf(covered(probe, from));
      return template.format({ value: text, unit: unitWord, status, checksum: sum });
    },
    spoilChecksum(line) {
      const token = template.match(line)?.['checksum'];
      if (token === undefined) return line;
      const last = token.from + token.text.length - 1;
      const spoiled = line.charAt(last) === '0' ? '1' : '0';
      return line.slice(0, last) + spoiled + line.slice(last + 1);
    },
  };
}
