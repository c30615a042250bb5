import { z } from 'zod';
import { explanationSchema } from '../leakage/explanation.ts';
import { leftOutOfTrialSchema } from '../leakage/left-out.ts';
import { reviewSchema } from '../leakage/review.ts';
import { identifierSchema, slugSchema } from '../model/identity.ts';
import { rigSchema } from '../model/rig.ts';
import { seriesSchema } from '../model/series.ts';
import { streamDescriptorSchema } from '../model/stream.ts';
import { microsecondsSchema } from '../model/time.ts';
import { voidingSchema } from '../model/voiding.ts';
import { trialHeaderSchema } from '../model/trial-event.ts';
import { assessmentRowSchema, signatureRowSchema } from './review.ts';
import { dwellViewSchema } from './trial-snapshot.ts';

/** One cell of the result table: one exercise at one probe. Percent of the challenge. */
export const resultCellSchema = z.object({
  exercise: slugSchema,
  probe: slugSchema,
  dwellPosition: z.number().int().nullable(),
  windowPercent: z.number().nullable(),
  windowLowPercent: z.number().nullable(),
  windowHighPercent: z.number().nullable(),
  exercisePercent: z.number().nullable(),
  exerciseLowPercent: z.number().nullable(),
  exerciseHighPercent: z.number().nullable(),
  detectionLimitPercent: z.number().nullable(),
  belowDetectionLimit: z.boolean(),
  /** Why there is no interval although there is a value, in words; empty where there is one. */
  withoutInterval: z.array(z.string()),
  flags: z.array(z.string()),
  flagged: z.boolean(),
  /** Windows used, trial time of arrival, µs. */
  windows: z.array(
    z.object({ dwell: z.number().int(), fromMicroseconds: microsecondsSchema, toMicroseconds: microsecondsSchema }),
  ),
});
export type ResultCell = z.infer<typeof resultCellSchema>;

export const resultMeanSchema = z.object({
  windowPercent: z.number().nullable(),
  /** Of the air seen, and of the whole exercises. */
  windowLowPercent: z.number().nullable(),
  windowHighPercent: z.number().nullable(),
  exerciseLowPercent: z.number().nullable(),
  exerciseHighPercent: z.number().nullable(),
  protectionFactor: z.number().nullable(),
  cells: z.number().int(),
  cellsFlagged: z.number().int(),
  cellsMissing: z.number().int(),
});

/** A recorded trial with the assessment that counts (released, else the newest), as the result screen shows it. */
export const trialResultSchema = z.object({
  file: z.string(),
  trial: identifierSchema,
  header: trialHeaderSchema,
  rig: rigSchema,
  series: seriesSchema,
  /** Index is the stream's index in history requests for this trial. */
  streams: z.array(streamDescriptorSchema),
  createdAt: z.string(),
  /** Decisions that made it void, or took that back, in the order they were made; the last one counts. */
  voidings: z.array(voidingSchema),
  sealed: z.object({ at: z.string(), head: z.string(), count: z.number().int() }).nullable(),
  /** End of the record, trial time. */
  endsAtMicroseconds: microsecondsSchema,
  exercises: z.array(
    z.object({
      exercise: slugSchema,
      name: z.string(),
      beganAtMicroseconds: microsecondsSchema.nullable(),
      endedAtMicroseconds: microsecondsSchema.nullable(),
    }),
  ),
  dwells: z.array(dwellViewSchema),
  /** Stretches that the photometer or the host did not see, trial time. */
  gaps: z.array(
    z.object({ fromMicroseconds: microsecondsSchema, toMicroseconds: microsecondsSchema, text: z.string() }),
  ),
  /** Who stopped the trial before its end, and what was noted; null when nobody did. */
  stopped: z
    .object({
      atMicroseconds: microsecondsSchema,
      by: z.enum(['subject', 'person']),
      person: z.string(),
      text: z.string(),
    })
    .nullable(),
  /** Trials of the study that do this one again, in the order they were begun. What it repeats stands in its header. */
  repeatedBy: z.array(identifierSchema),
  /** That it can be done again, and from which exercise on; null for a trial that ran to its end and is not void. */
  repeat: z.object({ because: z.enum(['void', 'stopped']), from: slugSchema.nullable() }).nullable(),
  /** The list of after the trial: what was said of each item, and how many are open; null where nobody was inside. */
  after: z
    .object({
      open: z.number().int(),
      answers: z.array(
        z.object({
          title: z.string(),
          word: z.string(),
          /** It tells of something that is to be looked at. */
          found: z.boolean(),
          note: z.string(),
          measured: z.string(),
          persons: z.array(z.string()),
          atMicroseconds: microsecondsSchema,
        }),
      ),
    })
    .nullable(),
  notes: z.array(z.object({ atMicroseconds: microsecondsSchema, kind: z.string(), text: z.string() })),
  /** All of its assessments, in the order they were made. */
  assessments: z.array(assessmentRowSchema),
  /** What was signed of them, and taken back, oldest first. */
  signatures: z.array(signatureRowSchema),
  /** Null while it has not been assessed. */
  assessment: z
    .object({
      assessment: identifierSchema,
      methodName: z.string(),
      methodVersion: z.number().int(),
      program: z.string(),
      createdAt: z.string(),
      cells: z.array(resultCellSchema),
      probes: z.array(resultMeanSchema.extend({ probe: slugSchema })),
      exercises: z.array(resultMeanSchema.extend({ exercise: slugSchema })),
      overall: resultMeanSchema,
      flags: z.array(z.string()),
      review: reviewSchema.nullable(),
      leftOut: z.array(leftOutOfTrialSchema),
    })
    .nullable(),
});
export type TrialResult = z.infer<typeof trialResultSchema>;

/** One cell explained by this program, held against the assessment that counts; null where there is none. */
export const cellExplanationSchema = z.object({
  explanation: explanationSchema,
  stored: z
    .object({
      assessment: identifierSchema,
      program: z.string(),
      /** The same value, to the last bit, and the same flags. */
      agrees: z.boolean(),
    })
    .nullable(),
});
export type CellExplanation = z.infer<typeof cellExplanationSchema>;

/** What a plan would be: the compiled series, with the usable part of every dwell. */
export const planPreviewSchema = z.object({
  durationSeconds: z.number(),
  exercises: z.array(
    z.object({
      exercise: slugSchema,
      name: z.string(),
      restSeconds: z.number(),
      durationSeconds: z.number(),
      dwells: z.array(
        z.object({
          probe: slugSchema,
          port: z.number().int(),
          dwellPosition: z.number().int(),
          dwellSeconds: z.number(),
          /** What is left of it after the way from probe to photometer and settling. */
          usableSeconds: z.number(),
        }),
      ),
    }),
  ),
  /** What the subject and the rig will be watched for, besides silence: a line each. */
  watched: z.array(z.string()),
  /** Things to know before starting: too little usable time, unbalanced order, checks missing. */
  warnings: z.array(z.string()),
});
export type PlanPreview = z.infer<typeof planPreviewSchema>;
