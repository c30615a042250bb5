import type { ProblemCode } from '../../src/model/reading.ts';
import { sumChecksum, xorChecksum } from './checksum.ts';
import { shown } from './decimal.ts';
import type { Template, TokenText } from './template.ts';

/** How a line of a template says that it is whole. */
export interface LineChecksumSettings {
  readonly line: string;
  readonly checksum: 'none' | 'xor-hex' | 'sum-hex';
  readonly checksumSkipsBytes: number;
  readonly checksumMark: string | null;
}

const twoHexDigits = /^[0-9A-Fa-f]{2}$/;

/**
 * Where the checksum's coverage ends: the characters right before `{checksum}` that it does not cover. `checksumMark`
 * where it is set; otherwise, of the literal characters in front of `{checksum}` up to a blank or a token, those from
 * the last `*` on, or all of them when none is a letter or a digit.
 * @returns null when that cannot be told (`mg/m3;{checksum}`) or `checksumMark` does not stand there.
 */
export function checksumMark(settings: Pick<LineChecksumSettings, 'line' | 'checksumMark'>): string | null {
  const before = settings.line.split('{checksum}')[0] ?? '';
  const literals = /[^}\s]*$/.exec(before)?.[0] ?? '';
  if (settings.checksumMark !== null) return before.endsWith(settings.checksumMark) ? settings.checksumMark : null;
  const star = literals.lastIndexOf('*');
  if (star >= 0) return literals.slice(star);
  return /[\p{L}\p{N}]/u.test(literals) ? null : literals;
}

/** What is wrong with the settings of a checksum, by field; `tokens` are those of the template. */
export function checksumSettingsProblem(
  settings: LineChecksumSettings,
  tokens: readonly string[],
): { readonly field: string; readonly message: string } | null {
  const present = tokens.includes('checksum');
  if (present !== (settings.checksum !== 'none')) {
    const message =
      settings.checksum === 'none'
        ? 'the line holds {checksum}: say which kind it is'
        : 'the line holds no {checksum}: set "none" or add it to the line';
    return { field: 'checksum', message };
  }
  if (!present || checksumMark(settings) !== null) return null;
  const message =
    settings.checksumMark === null
      ? 'it cannot be told where the checksum stops counting: the line has letters or digits right before ' +
        '{checksum}; name the characters there that it does not cover, "" for none'
      : `the line does not have ${JSON.stringify(settings.checksumMark)} right before {checksum}`;
  return { field: 'checksumMark', message };
}

/** The checksum of the lines of one template. */
export interface LineChecksum {
  /** What is wrong with the checksum of this line; undefined when nothing is. */
  problem(
    line: string,
    token: TokenText | undefined,
  ): { readonly code: ProblemCode; readonly detail: string } | undefined;
  /** The line of these tokens, with its checksum. */
  format(values: Readonly<Record<string, string>>): string;
  /** The same line with a checksum that cannot be right; unchanged where there is none. */
  spoil(line: string): string;
}

export function createLineChecksum(settings: LineChecksumSettings, template: Template): LineChecksum {
  const checksumOf = settings.checksum === 'sum-hex' ? sumChecksum : xorChecksum;
  const mark = checksumMark(settings) ?? '';
  /** What the checksum covers: from the beginning, less the skipped bytes, to right before the mark. */
  const covered = (line: string, checksumFrom: number): string =>
    line.slice(settings.checksumSkipsBytes, Math.max(settings.checksumSkipsBytes, checksumFrom - mark.length));
  return {
    problem(line, token) {
      if (token === undefined) return undefined;
      if (!twoHexDigits.test(token.text)) {
        return { code: 'line-undecodable', detail: `no checksum at the end of ${shown(line)}` };
      }
      const expected = checksumOf(covered(line, token.from));
      if (token.text.toUpperCase() === expected) return undefined;
      return { code: 'checksum-wrong', detail: `${shown(line)}: checksum ${token.text}, expected ${expected}` };
    },
    format(values) {
      const body = template.format({ ...values, checksum: '' });
      if (settings.checksum === 'none') return body;
      const probe = template.format({ ...values, checksum: '00' });
      const from = template.match(probe)?.['checksum']?.from ?? body.length;
      return template.format({ ...values, checksum: checksumOf(covered(probe, from)) });
    },
    spoil(line) {
      const token = template.match(line)?.['checksum'];
      if (token === undefined) return line;
      const last = token.from + token.text.length - 1;
      const spoiled = line.charAt(last) === '0' ? '1' : '0';
      return line.slice(0, last) + spoiled + line.slice(last + 1);
    },
  };
}
