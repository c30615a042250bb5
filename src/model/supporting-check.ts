import { z } from 'zod';
import { slugSchema } from './identity.ts';

/** A check of the rig that a trial rests on, as the laboratory had it when the trial was prepared. */
export const supportingCheckSchema = z.object({
  check: slugSchema,
  /** Name of a port; null for the rig as a whole. */
  subject: slugSchema.nullable(),
  /** `dilution, Ankle` */
  name: z.string(),
  /** Its number in the laboratory file: what it read is kept there. */
  number: z.number().int().positive(),
  /** ISO 8601 in UTC. */
  madeAt: z.string(),
  standing: z.enum(['valid', 'due-soon', 'overdue', 'failed']),
});
export type SupportingCheck = z.infer<typeof supportingCheckSchema>;

/** Those that a trial should not rest on. */
export function doubtfulChecks(checks: readonly SupportingCheck[] | undefined): SupportingCheck[] {
  return (checks ?? []).filter(({ standing }) => standing === 'overdue' || standing === 'failed');
}
