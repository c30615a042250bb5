import { z } from 'zod';
import { leftOutOfTrialSchema, leftOutSchema } from '../leakage/left-out.ts';
import { reviewSchema } from '../leakage/review.ts';
import { codeSchema, identifierSchema } from '../model/identity.ts';
import { voidingDecisionSchema, voidingReasonSchema } from '../model/voiding.ts';

/** One of a trial's assessments, as a list shows it. */
export const assessmentRowSchema = z.object({
  assessment: identifierSchema,
  /** Its place among those of the trial, from 1. */
  position: z.number().int().positive(),
  createdAt: z.string(),
  program: z.string(),
  methodName: z.string(),
  methodVersion: z.number().int(),
  /** By whom and why; null: nobody chose anything. */
  review: reviewSchema.nullable(),
  /** What was left out, with what it took. */
  leftOut: z.array(leftOutOfTrialSchema),
  overallPercent: z.number().nullable(),
  cells: z.number().int(),
  cellsFlagged: z.number().int(),
});
export type AssessmentRow = z.infer<typeof assessmentRowSchema>;

/** What a reviewer decides of a sealed trial, and the PIN, which is not kept. */
export const voidAskSchema = z.object({
  decision: voidingDecisionSchema,
  person: codeSchema,
  pin: z.string().max(40),
  reason: voidingReasonSchema,
});
export type VoidAsk = z.infer<typeof voidAskSchema>;

/** What a reviewer asks of the host, beside the trial: how it is assessed, who asks, and the PIN, which is not kept. */
export const reviewAskSchema = z.object({
  /** Name of a method that comes with the program; null: the one frozen with the trial. */
  method: z.string().nullable(),
  person: codeSchema,
  /** As it was typed: a wrong one is refused, whatever its form. */
  pin: z.string().max(40),
  reason: z.string().max(400),
  leftOut: z.array(leftOutSchema).max(100),
});
export type ReviewAsk = z.infer<typeof reviewAskSchema>;
