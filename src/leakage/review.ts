import { z } from 'zod';
import { codeSchema } from '../model/identity.ts';
import { leftOutSchema } from './left-out.ts';

/** Why a reviewer had a trial assessed anew: part of that assessment, and never changed. */
export const reviewSchema = z.object({
  /** Code of the reviewer. */
  person: codeSchema,
  reason: z.string().trim().min(1).max(400),
  /** All that is left out, each with its own reason; empty: nothing is, and an earlier choice may be taken back. */
  leftOut: z.array(leftOutSchema).max(100),
});
export type Review = z.infer<typeof reviewSchema>;
