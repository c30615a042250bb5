import { z } from 'zod';

/** A short name used in files, commands and screens: lower case, digits, single hyphens. `lower-back`. */
export const slugSchema = z
  .string()
  .regex(/^[a-z0-9]+(-[a-z0-9]+)*$/, 'use lower-case letters and digits, words joined by single hyphens')
  .max(40);
export type Slug = z.infer<typeof slugSchema>;

/** Code of a person, subject or operator: what is typed, spoken and printed in place of a name. `S04`, `anna.z` */
export const codeSchema = z
  .string()
  .min(1)
  .max(20)
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]*$/, 'use letters, digits, dots, hyphens, underscores; begin with letter or digit');

/** What a person calls an ensemble: a line of any script that is not blank. */
export const ensembleNameSchema = z
  .string()
  .min(1)
  .max(80)
  .regex(/\S/, 'use more than blanks')
  .regex(/^[^\p{Cc}\p{Zl}\p{Zp}]*$/u, 'use one line, without control characters');

/** One line that is not blank, without control characters. Without property classes, which JSON Schema cannot carry. */
export function lineSchema(longest: number): z.ZodString {
  return z
    .string()
    .min(1)
    .max(longest)
    .regex(/\S/, 'use more than blanks')
    .regex(/^[\x20-\x7e\xa0-\u2027\u202a-\uffff]*$/, 'use one line, without control characters');
}

export const pinSchema = z.string().regex(/^[0-9]{4,12}$/, 'use 4 to 12 digits');

const alphabet = '0123456789abcdefghjkmnpqrstvwxyz';

/** An identifier: a letter that says what it names, a hyphen, twelve characters without i, l, o, u. `t-0q3k…` */
export const identifierSchema = z.string().regex(/^[a-z]-[0-9a-hjkmnp-tv-z]{12}$/, 'not an identifier of this program');
export type Identifier = z.infer<typeof identifierSchema>;

/** What an identifier names, by its first letter. */
export type IdentifierKind = 'trial' | 'study' | 'person' | 'assessment' | 'boot' | 'host';

const prefixes: Record<IdentifierKind, string> = {
  trial: 't',
  study: 's',
  person: 'p',
  assessment: 'a',
  boot: 'b',
  host: 'h',
};

/**
 * A new identifier from 12 random bytes, which the caller supplies (randomness is injected everywhere).
 * @throws RangeError when fewer than 12 bytes are given.
 */
export function makeIdentifier(kind: IdentifierKind, randomBytes: Uint8Array): Identifier {
  if (randomBytes.length < 12) throw new RangeError('an identifier needs 12 random bytes');
  let text = '';
  for (let index = 0; index < 12; index += 1) text += alphabet[(randomBytes[index] ?? 0) & 31];
  return `${prefixes[kind]}-${text}`;
}
