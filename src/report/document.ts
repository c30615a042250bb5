import type { Figure } from './figure.ts';

/**
 * A report as a document: what is said and in which order, free of page sizes, type and file formats. Plain data: the
 * same trial gives the same document, and every renderer shows the same words.
 */

/** A stretch of words. Its text is never markup. */
export interface Inline {
  readonly text: string;
  readonly strong?: boolean;
  /** Identifiers and digests: in type of one width. */
  readonly wire?: boolean;
  /** Written by a person or an instrument: any script, any direction, any length. */
  readonly given?: boolean;
}
export type Words = readonly Inline[];

/** One value of a table. */
export interface TableCell {
  readonly words: Words;
  /** The value is in doubt: the mark of a flag stands before it. */
  readonly flagged?: boolean;
  /** The mark of a probe stands before it. */
  readonly probe?: string;
}

export interface TableColumn {
  readonly heading: string;
  /** Numbers stand right, words left. */
  readonly align: 'left' | 'right';
  /** Share of the width, relative to the other columns. */
  readonly width: number;
}

export interface Table {
  readonly block: 'table';
  /** What the table shows: said above it. */
  readonly caption: string;
  readonly columns: readonly TableColumn[];
  /** The first cell of each row is its heading. */
  readonly rows: readonly (readonly TableCell[])[];
  /** Rows that belong together, by the index of the first: said above them. */
  readonly groups?: readonly { readonly from: number; readonly heading: Words }[];
  /** Rows at the end that sum up. */
  readonly totals: readonly (readonly TableCell[])[];
  readonly notes: readonly Words[];
}

/** A name and what it is, one below the other. */
export interface Facts {
  readonly block: 'facts';
  readonly rows: readonly { readonly name: string; readonly value: Words }[];
}

export interface Verdict {
  /** `doubt`: something is to be looked at; `none`: nothing is decided. */
  readonly mark: 'good' | 'doubt' | 'none';
  readonly title: string;
  readonly more: string;
}

export type Block =
  | { readonly block: 'title'; readonly words: Words; readonly below: Words }
  /** The answer in words, for a reader who reads nothing else. */
  | { readonly block: 'answer'; readonly words: Words }
  | { readonly block: 'verdicts'; readonly verdicts: readonly Verdict[] }
  | { readonly block: 'heading'; readonly text: string }
  | { readonly block: 'paragraph'; readonly words: Words; readonly quiet?: boolean }
  | { readonly block: 'list'; readonly items: readonly Words[]; readonly care?: boolean }
  | { readonly block: 'figure'; readonly figure: Figure; readonly caption: string }
  /** Side by side where there is room. */
  | { readonly block: 'pair'; readonly left: readonly Block[]; readonly right: readonly Block[] }
  | Facts
  | Table;

export interface Section {
  /** Unique in the document; of letters and hyphens. */
  readonly id: string;
  /** Null for the first page, whose title stands for it. */
  readonly heading: string | null;
  /** Short enough to stand on the page of the section before. */
  readonly joined?: boolean;
  readonly blocks: readonly Block[];
}

export interface ReportDocument {
  readonly language: 'en';
  readonly title: string;
  /** What it is about, for lists of documents. */
  readonly about: string;
  /** The program that made it. */
  readonly maker: string;
  /** When what it shows came to be, ISO 8601 in UTC; never when the document was made. */
  readonly dated: string;
  /** Said on every page of a trial on a virtual rig; null for a real one. */
  readonly virtual: string | null;
  /** Which trial this is, at the head of every page but the first. */
  readonly head: Words;
  /** At the foot of every page. */
  readonly foot: readonly Words[];
  readonly sections: readonly Section[];
}

/** Words from text and stretches: words`trial ${wire(id)}`. Bare values are plain text. */
export function words(strings: TemplateStringsArray, ...values: readonly (string | number | Inline | Words)[]): Words {
  const parts: Inline[] = [];
  strings.forEach((text, index) => {
    if (text !== '') parts.push({ text });
    const value = values[index];
    if (value === undefined) return;
    if (typeof value === 'string' || typeof value === 'number') parts.push({ text: String(value) });
    else if ('text' in value) parts.push(value);
    else parts.push(...value);
  });
  return parts;
}

export const plain = (text: string): Words => [{ text }];
export const strong = (text: string): Inline => ({ text, strong: true });
export const wire = (text: string): Inline => ({ text, wire: true });
export const given = (text: string): Inline => ({ text: cleanText(text), given: true });

/** Characters that order the text around them; what is between them stays where it was written. */
const directions = /[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu;
/** Characters that are none: controls, halves of a pair, places that no script will ever have. */
const unprintable = /[\p{Cc}\p{Cs}\p{Cn}]/gu;

/**
 * A text from outside as one line that nothing can hide in: white space as single spaces, no characters that turn the
 * direction of what follows but their code points, and a mark in place of each that cannot be printed.
 */
export function cleanText(text: string): string {
  return text.replace(/\s+/gu, ' ').replace(directions, codePoint).replace(unprintable, '\ufffd');
}

function codePoint(character: string): string {
  return `[U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}]`;
}

/** The text of words, without what sets stretches apart. */
export function textOf(of: Words): string {
  return of.map(({ text }) => text).join('');
}
