import { z } from 'zod';
import { codeSchema, identifierSchema } from './identity.ts';
import { longestReason } from './signature.ts';

/** Why a sealed trial is made void, or why that is taken back. */
export const voidingReasonSchema = z.string().trim().min(1).max(longestReason);

/** What somebody says of a sealed trial: that it is void, or that it is so no longer. */
export const voidingDecisionSchema = z.enum(['void', 'withdrawn']);

/**
 * A decision on a sealed trial, kept beside it and never changed. The newest of a trial counts; what was recorded and
 * assessed stays as it is and can be read.
 */
export const voidingSchema = z.object({
  trial: identifierSchema,
  /** Digest of the last link of the trial, hexadecimal: of what was decided. */
  trialHead: z.string(),
  decision: voidingDecisionSchema,
  /** Code of the reviewer. */
  person: codeSchema,
  reason: voidingReasonSchema,
  /** Version of the program. */
  program: z.string(),
  /** ISO 8601 in UTC. */
  createdAt: z.string(),
});
export type Voiding = z.infer<typeof voidingSchema>;

/** `void by rita: the hose had come off` */
export function voidingWords({ person, reason }: Pick<Voiding, 'person' | 'reason'>): string {
  return `void by ${person}: ${reason}`;
}
