import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import type { EmbeddedFont } from '../../report/html.ts';

/**
 * The type of a report, from packages under the SIL Open Font Licence 1.1, which allows embedding: as one variable file
 * for a page, as static files for a PDF.
 */
const require = createRequire(import.meta.url);

const latin =
  'U+0000-00FF,U+0131,U+0152-0153,U+02BB-02BC,U+02C6,U+02DA,U+02DC,U+0304,U+0308,U+0329,U+2000-206F,U+20AC,U+2122,' +
  'U+2191,U+2193,U+2212,U+2215,U+FEFF,U+FFFD';
const latinExtended =
  'U+0100-02BA,U+02BD-02C5,U+02C7-02CC,U+02CE-02D7,U+02DD-02FF,U+1D00-1DBF,U+1E00-1E9F,U+1EF2-1EFF,U+2020,' +
  'U+20A0-20AB,U+20AD-20C0,U+2113,U+2C60-2C7F,U+A720-A7FF';

function base64(path: string): string {
  return readFileSync(path).toString('base64');
}

/** Fonts of the page. Scripts that they lack are left to the fonts of the machine that shows it. */
export function pageFonts(): EmbeddedFont[] {
  const folder = '@fontsource-variable/atkinson-hyperlegible';
  const next = require.resolve(`${folder}-next/files/atkinson-hyperlegible-next-latin-wght-normal.woff2`);
  const more = require.resolve(`${folder}-next/files/atkinson-hyperlegible-next-latin-ext-wght-normal.woff2`);
  const mono = require.resolve(`${folder}-mono/files/atkinson-hyperlegible-mono-latin-wght-normal.woff2`);
  return [
    { use: 'text', base64: base64(next), unicodeRange: latin },
    { use: 'text', base64: base64(more), unicodeRange: latinExtended },
    { use: 'wire', base64: base64(mono), unicodeRange: latin },
  ];
}

/** One family of a PDF: its upright and its bold. */
export interface PdfFontFiles {
  readonly family: string;
  /** Paths. */
  readonly normal: string;
  readonly bold: string;
}

/** Scripts of the second type, for what the first lacks; each is a font of its own. */
const otherScripts = [
  'latin',
  'latin-ext',
  'vietnamese',
  'greek',
  'greek-ext',
  'cyrillic',
  'cyrillic-ext',
  'math',
  'symbols',
];

/** Fonts of a PDF, most wanted first. */
export function pdfFontFiles(): PdfFontFiles[] {
  const next = require.resolve('@fontsource/atkinson-hyperlegible-next/package.json');
  const mono = require.resolve('@fontsource/atkinson-hyperlegible-mono/package.json');
  const other = require.resolve('@fontsource/open-sans/package.json');
  const family = (name: string, manifest: string, stem: string): PdfFontFiles => ({
    family: name,
    normal: join(dirname(manifest), 'files', `${stem}-400-normal.woff`),
    bold: join(dirname(manifest), 'files', `${stem}-700-normal.woff`),
  });
  return [
    family('Text', next, 'atkinson-hyperlegible-next-latin'),
    family('TextMore', next, 'atkinson-hyperlegible-next-latin-ext'),
    family('Mono', mono, 'atkinson-hyperlegible-mono-latin'),
    ...otherScripts.map((script) => family(`Other-${script}`, other, `open-sans-${script}`)),
  ];
}
