import { z } from 'zod';
import { certificateSchema, registeredInstrumentSchema, registeredPlaceSchema } from '../../model/certificate.ts';
import { codeSchema } from '../../model/identity.ts';

const reasonSchema = z.string().min(1).max(400).regex(/\S/, 'use more than blanks');

/** What can be put down in the register. Nothing that stands there is changed: what no longer holds gets a record. */
export const registerEntrySchema = z.discriminatedUnion('entry', [
  /** An instrument; the same code once more corrects what was said of it. */
  z.object({ entry: z.literal('instrument'), ...registeredInstrumentSchema.shape }),
  /** The laboratory has it no longer. */
  z.object({ entry: z.literal('retired'), instrument: codeSchema, reason: reasonSchema }),
  z.object({ entry: z.literal('certificate'), instrument: codeSchema, certificate: certificateSchema }),
  /** A certificate counts no longer; `record` is its number in the register. */
  z.object({
    entry: z.literal('withdrawn'),
    instrument: codeSchema,
    record: z.number().int().positive(),
    reason: reasonSchema,
  }),
  /** Where it works from now on; null: nowhere. */
  z.object({
    entry: z.literal('placed'),
    instrument: codeSchema,
    rig: z.string().min(1).max(200).nullable(),
    at: registeredPlaceSchema.nullable(),
  }),
]);
export type RegisterEntry = z.infer<typeof registerEntrySchema>;

/** An entry with who made it and when. */
export const registerRecordSchema = z.object({
  /** ISO 8601 in UTC. */
  at: z.iso.datetime(),
  /** Code of the person. */
  person: codeSchema,
  entry: registerEntrySchema,
});

/** A record as the laboratory keeps it; the number counts from 1 without gaps. */
export interface RegisterRecord extends z.infer<typeof registerRecordSchema> {
  readonly number: number;
}
