import type { ProblemCode } from '../../../src/model/reading.ts';
import { convert, unitNames, units } from '../../../src/model/unit.ts';
import type { Unit } from '../../../src/model/unit.ts';
import { decimalsFor, parseDecimal, shown } from '../../framing/decimal.ts';
import { createLineChecksum } from '../../framing/line-checksum.ts';
import { compileTemplate } from '../../framing/template.ts';
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

/** Codec of one instrument; the template is compiled once. */
export function createPhotometerCodec(settings: PhotometerSettings): PhotometerCodec {
  const template = compileTemplate(settings.line, lineTokens);
  const unitByWord = new Map<string, Unit>(unitNames.map((unit) => [unit, unit]));
  for (const [word, unit] of Object.entries(settings.unitWords)) unitByWord.set(word, unit);
  const unitWord = Object.entries(settings.unitWords).find(([, unit]) => unit === settings.unit)?.[0] ?? settings.unit;
  const goodStatus = new Set(settings.goodStatus);
  const decimals = decimalsFor(settings.resolution);
  const sum = createLineChecksum(settings, template);

  const problem = (code: ProblemCode, detail: string): DecodedLine => ({ decoded: 'problem', code, detail });

  return {
    decode(line) {
      const tokens = template.match(line);
      if (tokens === undefined) return problem('line-undecodable', `${shown(line)} is not ${shown(settings.line)}`);
      const { value, unit, status, checksum } = tokens;
      const wrong = sum.problem(line, checksum);
      if (wrong !== undefined) return problem(wrong.code, wrong.detail);
      if (status !== undefined && !goodStatus.has(status.text)) {
        return problem('status-bad', `status ${shown(status.text)} in ${shown(line)}`);
      }
      const number = parseDecimal(value?.text ?? '', settings.decimalMark);
      if (number === undefined) return problem('line-undecodable', `no number in ${shown(line)}`);
      if (unit === undefined) return { decoded: 'value', value: number };
      const from = unitByWord.get(unit.text);
      if (from === undefined) return problem('line-undecodable', `unknown unit ${shown(unit.text)} in ${shown(line)}`);
      if (units[from].quantity !== units[settings.unit].quantity) {
        const expected = `${settings.unit}, a ${units[settings.unit].quantity}`;
        return problem('line-undecodable', `unit ${from} in ${shown(line)} where ${expected}, is expected`);
      }
      const converted = convert(number, from, settings.unit);
      if (!Number.isFinite(converted)) return problem('line-undecodable', `number too large in ${shown(line)}`);
      return { decoded: 'value', value: converted };
    },
    encode(value, status) {
      const text = value.toFixed(decimals).replace('.', settings.decimalMark);
      return sum.format({ value: text, unit: unitWord, status });
    },
    spoilChecksum: (line) => sum.spoil(line),
  };
}
