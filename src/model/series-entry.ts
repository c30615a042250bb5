import { z } from 'zod';
import { lineSchema } from './identity.ts';
import { exerciseSchema, seriesSchema } from './series.ts';
import type { Series } from './series.ts';

const text = lineSchema(200);
const longText = lineSchema(2000);

/** A version above this is no count of changes. */
export const highestVersion = 1_000_000;

/**
 * A series as it is given, in a file or to the laboratory: without members that nobody knows, and with numbers that a
 * person can work to. What is frozen into a trial is read with `seriesSchema`.
 */
export const seriesEntrySchema: z.ZodType<Series, Series> = seriesSchema
  .safeExtend({
    name: text,
    version: z.number().int().positive().max(highestVersion),
    source: longText,
    background: seriesSchema.shape.background.strict(),
    entry: seriesSchema.shape.entry
      .safeExtend({
        steadyRangePercent: z.number().positive().max(1000),
        leastChallengePercent: z.number().positive().max(100),
      })
      .strict(),
    exercises: z
      .array(
        exerciseSchema
          .safeExtend({
            name: text,
            instruction: longText,
            operatorText: longText.optional(),
            cadencePerMinute: z.number().positive().max(300).nullable(),
            workRateWatts: z.number().nonnegative().max(2000).nullable(),
          })
          .strict(),
      )
      .min(1)
      .max(200),
    closing: seriesSchema.shape.closing.strict(),
    order: seriesSchema.shape.order.safeExtend({ offset: z.number().int().min(0).max(10_000) }).strict(),
  })
  .strict();
