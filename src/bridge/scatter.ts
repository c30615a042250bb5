import { z } from 'zod';
import { failureSchema } from './snapshot.ts';

/** What the newest assessed trial on a rig has shown of scatter: `KnownScatter`, with the trial it is from. */
export const shownScatterSchema = z.object({
  trial: z.string(),
  createdAt: z.string(),
  rigVersion: z.number().int(),
  blank: z
    .object({
      standardDeviation: z.number(),
      autocorrelationSum: z.number(),
      degreesOfFreedom: z.number(),
      readings: z.number(),
      blanks: z.number(),
    })
    .nullable(),
  /** Between readings of the photometer, s. */
  intervalSeconds: z.number(),
  slice: z
    .object({
      logStandard: z.number(),
      degreesOfFreedom: z.number(),
      from: z.enum(['dwells of one exercise', 'successive exercises']),
      pairs: z.number(),
      /** Mean length of the windows it was seen with, s. */
      windowSeconds: z.number(),
    })
    .nullable(),
});
export type ShownScatter = z.infer<typeof shownScatterSchema>;

/** What was looked for, and what could not be read while looking: another trial may have shown it. */
export const scatterAnswerSchema = z.object({
  /** Null: none of those that could be read has. */
  shown: shownScatterSchema.nullable(),
  /** Newest first; `trial` null: the whole file. */
  unread: z.array(z.object({ file: z.string(), trial: z.string().nullable(), failure: failureSchema })),
});
export type ScatterAnswer = z.infer<typeof scatterAnswerSchema>;
