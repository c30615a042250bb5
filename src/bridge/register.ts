import { z } from 'zod';
import { checkKindSchema } from '../calibration/check/vocabulary.ts';
import { registerEntrySchema, registerRecordSchema } from '../calibration/register/record.ts';
import { certificateSchema, registeredInstrumentSchema, registeredPlaceSchema } from '../model/certificate.ts';
import { codeSchema, slugSchema } from '../model/identity.ts';
import { keptCheckSchema } from './checks.ts';

/** An instrument of the register as it stands, `RegisteredEntry`. */
export const registeredEntrySchema = registeredInstrumentSchema.extend({
  retired: z.string().nullable(),
  placed: z.object({ rig: z.string(), at: registeredPlaceSchema }).nullable(),
  certificates: z.array(
    z.object({
      record: z.number().int().positive(),
      certificate: certificateSchema,
      withdrawn: z.string().nullable(),
    }),
  ),
});

/** A rig that something can be placed in. */
export const placingRigSchema = z.object({
  name: z.string(),
  virtual: z.boolean(),
  instruments: z.array(z.object({ instrument: slugSchema, kind: slugSchema })),
  ports: z.array(z.object({ probe: slugSchema, label: z.string() })),
});
export type PlacingRig = z.infer<typeof placingRigSchema>;

/** The whole register, read from the laboratory file. */
export const registerViewSchema = z.object({
  instruments: z.array(registeredEntrySchema),
  /** Numbers of records that are not what was stored, or are gone. */
  altered: z.array(z.number().int()),
  /** The newest of each rig of the laboratory, and the one that is open. */
  rigs: z.array(placingRigSchema),
});
export type RegisterView = z.infer<typeof registerViewSchema>;

/** What one check has shown of an instrument while it worked in a rig. */
export const checkCourseSchema = z.object({
  rig: z.string(),
  check: checkKindSchema,
  /** Label of the line; null: the rig as a whole. */
  line: z.string().nullable(),
  /** Newest first, at most fifty; with the figures that are about the instrument. */
  results: z.array(keptCheckSchema),
});
export type CheckCourse = z.infer<typeof checkCourseSchema>;

/** All that was put down of an instrument, and what checks have shown of it. */
export const instrumentHistorySchema = z.object({
  records: z.array(registerRecordSchema.extend({ number: z.number().int().positive() })),
  courses: z.array(checkCourseSchema),
  /** Numbers of checks that cannot be read, and are left out of the courses. */
  unreadable: z.array(z.number().int()),
});
export type InstrumentHistory = z.infer<typeof instrumentHistorySchema>;

/** What a technician puts down, and the PIN, which is not kept. */
export const registerAskSchema = z.object({
  entry: registerEntrySchema.refine(
    (one) => one.entry !== 'certificate' || one.certificate.file === undefined,
    'a file is attached by the command line only',
  ),
  person: codeSchema,
  pin: z.string().max(40),
});
export type RegisterAsk = z.infer<typeof registerAskSchema>;
