import { z } from 'zod';

/** Names of the published forms of a heart-rate limit by age. */
export const ageFormSchema = z.enum(['220-minus-age', 'tanaka', 'gellish', 'iso-9886', 'sustained-strain']);

export type AgeForm = z.infer<typeof ageFormSchema>;

/** A heart-rate limit by age, as the responsible person chooses it. */
export const heartByAgeSchema = z.object({
  /** Age of the subject. Not recorded, though the limits that are recorded let it be computed. */
  years: z.number().int().min(16).max(80),
  form: ageFormSchema,
  sharePercent: z.number().min(50).max(100),
  /** How long a rate above 180 − age is borne; null: not watched. */
  sustainedMinutes: z.number().min(1).max(15).nullable(),
});
export type HeartByAge = z.infer<typeof heartByAgeSchema>;
