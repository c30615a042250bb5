import { z } from 'zod';
import { leftOutOfTrialSchema, leftOutSchema } from '../leakage/left-out.ts';
import { reviewSchema } from '../leakage/review.ts';
import { codeSchema, identifierSchema } from '../model/identity.ts';
import { methodSchema } from '../model/method.ts';
import { longestReason, signatureReasonSchema, signatureSchema, signatureStepSchema } from '../model/signature.ts';
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

/** A signature of one of a trial's assessments, as a window shows it; the statement in full stays in the study file. */
export const signatureRowSchema = signatureSchema
  .pick({ number: true, assessment: true, step: true, person: true, reason: true, createdAt: true, rehearsal: true })
  .extend({
    /** Of the key that signed it; null: none did. */
    fingerprint: z.string().nullable(),
  });
export type SignatureRow = z.infer<typeof signatureRowSchema>;

/** Which assessment somebody signs as what, or whose last signature is taken back; and the PIN, which is not kept. */
export const signAskSchema = z.object({
  assessment: identifierSchema,
  step: signatureStepSchema,
  /** Number of its last signature that stands, as whoever signs saw it; null: none. Another one is refused. */
  after: z.number().int().positive().nullable(),
  person: codeSchema,
  pin: z.string().max(40),
  reason: signatureReasonSchema,
});
export type SignAsk = z.infer<typeof signAskSchema>;

/** What a reviewer asks of the host, beside the trial: how it is assessed, who asks, and the PIN, which is not kept. */
export const reviewAskSchema = z.object({
  /** Name of a method that comes with the program, or one of somebody's own; null: the one frozen with the trial. */
  method: z.union([z.string(), methodSchema.strict()]).nullable(),
  person: codeSchema,
  /** As it was typed: a wrong one is refused, whatever its form. */
  pin: z.string().max(40),
  reason: z.string().max(longestReason),
  leftOut: z.array(leftOutSchema).max(100),
});
export type ReviewAsk = z.infer<typeof reviewAskSchema>;
