import { z } from 'zod';
import { slugSchema } from '../../model/identity.ts';

/** As `Connection` of src/device/transport.ts, without connections that exist only inside one process. */
const realConnectionSchema = z.discriminatedUnion('transport', [
  z.object({ transport: z.literal('serial'), path: z.string().min(1), baudRate: z.number().positive() }),
  z.object({ transport: z.literal('tcp'), host: z.string().min(1), port: z.number().int().min(1).max(65_535) }),
]);

/** What the guard does to one instrument when nobody steers it any more. */
export const guardDutySchema = z.object({
  instrument: slugSchema,
  kind: slugSchema,
  dialect: slugSchema,
  settings: z.record(z.string(), z.unknown()),
  act: z.discriminatedUnion('act', [
    /** Every output to its rest value. */
    z.object({ act: z.literal('rest') }),
    /** The port of filtered air. */
    z.object({ act: z.literal('select'), port: z.number().int().min(1).max(32) }),
  ]),
});
export type GuardDuty = z.infer<typeof guardDutySchema>;

/** The trial that a host has under way. */
const guardedTrialSchema = z.object({ file: z.string(), trial: z.string() });
export type GuardedTrial = z.infer<typeof guardedTrialSchema>;

/** What became of one duty. */
const guardActSchema = z.object({
  instrument: slugSchema,
  /** `load to zero`, `valve to port 7`. */
  what: z.string(),
  tries: z.number().int().nonnegative(),
  /** From the beginning of parking to the instrument's acknowledgement, ms; null: there was none. */
  acknowledgedAfterMilliseconds: z.number().nullable(),
  /** Why the last try failed; null when it was acknowledged. */
  failure: z.string().nullable(),
});
export type GuardAct = z.infer<typeof guardActSchema>;

/** What the guard did once; written to its file, and told to the host that is there. */
export const guardReportSchema = z.object({
  report: z.string(),
  /** Wall clock, ISO 8601 in UTC. */
  at: z.string(),
  why: z.string(),
  trial: guardedTrialSchema.nullable(),
  /** False while it is being done: a guard that was killed meanwhile leaves it so. */
  done: z.boolean(),
  acts: z.array(guardActSchema),
});
export type GuardReport = z.infer<typeof guardReportSchema>;

/** What a guard writes about itself beside the laboratory file, so that the next host finds it. */
export const guardAddressSchema = z.object({
  processId: z.number().int(),
  socket: z.string().min(1),
  /** Whoever can read the file may speak to the guard. */
  token: z.string().min(16),
});
export type GuardAddress = z.infer<typeof guardAddressSchema>;

export const toGuardSchema = z.discriminatedUnion('say', [
  /** First of all. `take-back`: give the ports back and end, whoever had started you. */
  z.object({
    say: z.literal('hello'),
    token: z.string(),
    purpose: z.enum(['guard', 'take-back']),
    duties: z.array(guardDutySchema),
    /** A load is set to zero before its line is handed over the first time: nobody knows what was left on it. */
    restFirst: z.boolean(),
  }),
  z.object({ say: z.literal('trial'), trial: guardedTrialSchema.nullable() }),
  z.object({
    say: z.literal('open'),
    line: z.number().int().nonnegative(),
    connection: realConnectionSchema,
    /** Everything on this line, guarded or not. */
    instruments: z.array(slugSchema).min(1),
  }),
  z.object({ say: z.literal('close'), line: z.number().int().nonnegative() }),
  /** These reports stand in a record: they can be forgotten. */
  z.object({ say: z.literal('noted'), reports: z.array(z.string()) }),
  /** Nothing is to be guarded any more. */
  z.object({ say: z.literal('release') }),
]);
export type ToGuard = z.infer<typeof toGuardSchema>;

export const fromGuardSchema = z.discriminatedUnion('say', [
  /** `nowMicroseconds`: the guard's monotonic clock, to see whether it is the host's. */
  z.object({ say: z.literal('welcome'), processId: z.number().int(), nowMicroseconds: z.number() }),
  z.object({ say: z.literal('refused'), why: z.string() }),
  /** `rested`: no load on it is known to be left on; false when setting it to zero was not acknowledged. */
  z.object({ say: z.literal('opened'), line: z.number().int(), label: z.string(), rested: z.boolean() }),
  z.object({
    say: z.literal('not-opened'),
    line: z.number().int(),
    code: z.string(),
    what: z.string(),
    where: z.string(),
    remedy: z.string(),
  }),
  z.object({ say: z.literal('closed'), line: z.number().int(), reason: z.string() }),
  z.object({ say: z.literal('report'), report: guardReportSchema }),
]);
export type FromGuard = z.infer<typeof fromGuardSchema>;
