import { z } from 'zod';

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
