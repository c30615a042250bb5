import type { Font } from 'fontkit';
import { pdfFontFiles } from './fonts.ts';

/** Names under which the fonts of a PDF are known. */
export type Family = string;

/** Letters of one font in a row. */
export interface Run {
  readonly family: Family;
  readonly text: string;
}

/** What sets a text: which font has which character. */
export interface Typesetter {
  /**
   * A text as stretches of one font each. A character that no font has, or of a script that runs from right to left, is
   * written by its code point: a PDF has no other type to fall back on than the one that is in it.
   */
  runs(text: string, use: 'text' | 'wire'): Run[];
  /** How wide a text is, in sizes of its type; as it is set when not bold. */
  width(text: string, use: 'text' | 'wire'): number;
  /** Whether any character so far had to be written by its code point. */
  readonly replaced: boolean;
}

/**
 * Scripts from right to left: their letters would have to be put in another order for each line, which what sets the
 * pages does not do.
 */
const rightToLeft = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\u{10800}-\u{10fff}\u{1e800}-\u{1efff}]/u;
const joining = /[\p{M}\u200d\ufe0f]/u;

/** The package is loaded here and not before: whoever starts the program would wait for it. */
export async function createTypesetter(): Promise<Typesetter> {
  const { openSync } = await import('fontkit');
  // One font to a file: a collection is another kind of file.
  const fonts = pdfFontFiles().map(({ family, normal }) => ({ family, font: openSync(normal) as Font }));
  const known = new Map<string, Family | null>();
  let replaced = false;

  const familyOf = (character: string, use: 'text' | 'wire'): Family | null => {
    const key = use + character;
    const before = known.get(key);
    if (before !== undefined) return before;
    const point = character.codePointAt(0) ?? 0;
    const order = use === 'text' ? fonts.filter(({ family }) => family !== 'Mono') : fonts;
    const found = rightToLeft.test(character)
      ? undefined
      : [...order]
          .sort((one, other) => rank(one.family, use) - rank(other.family, use))
          .find(({ font }) => font.hasGlyphForCodePoint(point));
    const family = found?.family ?? null;
    known.set(key, family);
    return family;
  };

  const setter: Typesetter = {
    runs(text, use) {
      const primary = use === 'wire' ? 'Mono' : 'Text';
      const runs: { family: Family; text: string }[] = [];
      const add = (family: Family, part: string): void => {
        const last = runs.at(-1);
        if (last?.family === family) last.text += part;
        else runs.push({ family, text: part });
      };
      for (const character of text.normalize('NFC')) {
        const family = familyOf(character, use);
        const last = runs.at(-1);
        if (family === null) {
          replaced = true;
          add(primary, `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}]`);
        } else if (joining.test(character) && last !== undefined) last.text += character;
        else add(family, character);
      }
      return runs;
    },
    width(text, use) {
      let width = 0;
      for (const { family, text: part } of setter.runs(text, use)) {
        const font = fonts.find((one) => one.family === family)?.font;
        if (font !== undefined) width += font.layout(part).advanceWidth / font.unitsPerEm;
      }
      return width;
    },
    get replaced() {
      return replaced;
    },
  };
  return setter;
}

function rank(family: Family, use: 'text' | 'wire'): number {
  if (family === 'Mono') return use === 'wire' ? -2 : 0;
  return family === 'Text' ? -1 : 0;
}
