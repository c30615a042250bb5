import { z } from 'zod';
import { slugSchema } from './identity.ts';
import { microsecondsSchema } from './time.ts';

/** One value of one stream, stamped on arrival with trial time. Value in the stream's unit; may be negative. */
export interface Reading {
  readonly instrument: string;
  readonly stream: string;
  readonly atMicroseconds: number;
  readonly value: number;
}

/** What an instrument can do wrong, as data. Codes are stable; the text beside them is free. */
export const problemCodes = {
  'line-undecodable': 'A complete line does not have the expected form.',
  'line-too-long': 'Bytes without an end of line exceeded the cap and were set aside.',
  'line-incomplete': 'The connection ended, or a new line began, in the middle of a line.',
  'checksum-wrong': 'A line decodes, but its checksum does not match.',
  'status-bad': 'The instrument itself says that the reading is not good.',
  'reading-out-of-range': 'The value lies outside the plausible limits; it is kept.',
  'payload-malformed': 'A binary payload is too short, or has bytes left over.',
  'contact-lost': 'The sensor says that it has no contact with the body.',
  'silence': 'No reading for longer than the stream allows.',
  'answer-unexpected': 'An answer came that nothing waited for.',
  'connection-lost': 'The connection broke.',
  'connection-restored': 'The connection is back.',
} as const;
export type ProblemCode = keyof typeof problemCodes;
export const problemCodeNames = Object.keys(problemCodes) as [ProblemCode, ...ProblemCode[]];

/** Something wrong with what an instrument sent or did not send. Stored with the trial like a reading. */
export const problemSchema = z.object({
  instrument: slugSchema,
  atMicroseconds: microsecondsSchema,
  code: z.enum(problemCodeNames),
  /** What, in words, for a person. */
  detail: z.string(),
  /** How many wire bytes the problem accounts for; 0 when it is not about bytes. */
  byteCount: z.number().int().nonnegative(),
});
export type Problem = z.infer<typeof problemSchema>;
