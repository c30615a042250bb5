import { z } from 'zod';
import { checkRecordSchema, checkStepSchema } from '../calibration/check/step.ts';
import { checkConditionSchema, checkKindSchema, checkResultSchema } from '../calibration/check/vocabulary.ts';
import { slugSchema } from '../model/identity.ts';
import { rigSchema } from '../model/rig.ts';

/** A check of the open rig that is asked for. */
export const checkChoiceSchema = z.object({
  check: checkKindSchema,
  /** Name of the port that it is about; null: the rig as a whole. */
  subject: slugSchema.nullable(),
});
export type CheckChoice = z.infer<typeof checkChoiceSchema>;

export const checkBeginningSchema = checkChoiceSchema.extend({
  condition: checkConditionSchema,
  /** Days for which a pass is to hold. */
  validDays: z.number().positive().max(3660),
});
export type CheckBeginning = z.infer<typeof checkBeginningSchema>;

/** A check that is under way. */
export const runningCheckSchema = checkChoiceSchema.extend({
  condition: checkConditionSchema,
  steps: z.array(checkStepSchema),
  /** Index of the step under way; their number while it is judged. */
  at: z.number().int().nonnegative(),
  /** How long this step has taken, s. */
  stepSeconds: z.number(),
  /** Least time that is left, and that all takes, s; a person's part is not counted. */
  secondsLeft: z.number(),
  secondsInAll: z.number(),
});
export type RunningCheckState = z.infer<typeof runningCheckSchema>;

/** A finished check as the laboratory keeps it. */
export const keptCheckSchema = z.object({
  number: z.number().int().positive(),
  version: z.number().int().positive(),
  /** `result.at`, ms since 1970. */
  madeAtMilliseconds: z.number(),
  result: checkResultSchema,
});

export const checkStateSchema = z.object({
  running: runningCheckSchema.nullable(),
  /** Why the last one came to no result; null when it did, or none was made. */
  failure: z.object({ code: z.string(), what: z.string(), where: z.string(), remedy: z.string() }).nullable(),
  /** Newest of each check and port of this rig, whatever its version. */
  results: z.array(keptCheckSchema),
});

/** What a check was judged on; null for one from before that was kept. */
export const checkGroundSchema = z.object({
  ground: z.object({ rig: rigSchema, record: checkRecordSchema }).nullable(),
});
