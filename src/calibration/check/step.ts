import { z } from 'zod';
import { slugSchema } from '../../model/identity.ts';
import { unitNames } from '../../model/unit.ts';

const seconds = z.number().nonnegative().max(3600);
/** Which stretch of the check it belongs to: `zero`, `level-3`, `fall-2`. */
const part = { part: slugSchema };

/** What is asked of a person in the middle of a check. The words belong to the window. */
export const askSchema = z.enum([
  'source-level',
  'source-away',
  'probe-in-chamber',
  'probe-back',
  'filter-on-probe',
  'filter-off-probe',
  'head-at-place',
  'head-back',
  'pulse',
  'clock',
]);
export type Ask = z.infer<typeof askSchema>;

export const askFieldSchema = z.object({
  field: slugSchema,
  /** `time`: of the day, as seconds since midnight. */
  kind: z.enum(['number', 'time']),
  unit: z.enum(unitNames).nullable(),
  /** What stands in the field before anybody types; null: nothing. */
  proposed: z.number().nullable(),
  low: z.number(),
  high: z.number(),
});
export type AskField = z.infer<typeof askFieldSchema>;

/** How it is known that the air at the photometer has settled. Changes are of the mean from half to half. */
export const settleRuleSchema = z.discriminatedUnion('rule', [
  /** Challenge air: steady as before a trial, and neither building up nor going. */
  z.object({
    rule: z.literal('challenge'),
    rangePercent: z.number().positive(),
    leastMean: z.number(),
    mostChangePercent: z.number().positive(),
  }),
  /** Any other air: it no longer changes by more than this, in readings and in percent of its level. */
  z.object({ rule: z.literal('level'), mostChange: z.number().min(0), mostChangePercent: z.number().min(0) }),
]);
export type SettleRule = z.infer<typeof settleRuleSchema>;

export const checkStepSchema = z.discriminatedUnion('step', [
  /** The valve goes to a port. */
  z.object({ step: z.literal('select'), ...part, port: z.number().int().positive() }),
  /** The valve is asked where it stands. */
  z.object({ step: z.literal('position'), ...part, port: z.number().int().positive() }),
  /** At least so long, then until the air is steady over a window, and no longer than the most. */
  z.object({
    step: z.literal('settle'),
    ...part,
    leastSeconds: seconds,
    windowSeconds: seconds,
    mostSeconds: seconds,
    settle: settleRuleSchema,
  }),
  z.object({ step: z.literal('read'), ...part, seconds }),
  /** A person does something, or says something. Nothing is recorded meanwhile. */
  z.object({
    step: z.literal('ask'),
    ...part,
    ask: askSchema,
    /** Port that it is about; null for none. */
    probe: slugSchema.nullable(),
    /** Place of a grid; null for none. */
    place: slugSchema.nullable(),
    fields: z.array(askFieldSchema),
  }),
]);
export type CheckStep = z.infer<typeof checkStepSchema>;

/** What a person answered to an ask. */
export const answersSchema = z.record(slugSchema, z.number());
export type Answers = z.infer<typeof answersSchema>;

/** A step as it went. Times in µs since the check began. */
export const stepRecordSchema = z.object({
  step: checkStepSchema,
  beganAtMicroseconds: z.number().int().nonnegative(),
  endedAtMicroseconds: z.number().int().nonnegative(),
  /** Settling: was it steady when it ended; null for other steps. */
  steady: z.boolean().nullable(),
  /** What the valve said. */
  valve: z
    .object({
      /** Null: it did not say. */
      confirmedAtMicroseconds: z.number().int().nullable(),
      /** Where it says that it stands; null: it did not say. */
      port: z.number().int().nullable(),
      detail: z.string(),
    })
    .nullable(),
  answers: answersSchema,
  /** Time of the day at the host when it was answered, s since midnight; null for other steps. */
  daySeconds: z.number().nullable(),
});
export type StepRecord = z.infer<typeof stepRecordSchema>;

/** All that a check recorded, enough to judge it again. Readings during an ask are not among it. */
export const checkRecordSchema = z.object({
  form: z.literal(1),
  check: z.string(),
  subject: slugSchema.nullable(),
  steps: z.array(stepRecordSchema),
  streams: z.array(
    z.object({
      instrument: slugSchema,
      stream: slugSchema,
      unit: z.enum(unitNames),
      /** When it is all well, s; null: by event. */
      expectedIntervalSeconds: z.number().positive().nullable(),
      /** µs since the check began, ascending. */
      atMicroseconds: z.array(z.number()),
      values: z.array(z.number()),
    }),
  ),
});
export type CheckRecord = z.infer<typeof checkRecordSchema>;
export type CheckStream = CheckRecord['streams'][number];
