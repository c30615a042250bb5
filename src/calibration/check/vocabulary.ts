import { z } from 'zod';
import { slugSchema } from '../../model/identity.ts';
import { unitNames } from '../../model/unit.ts';

/** Everything that can be proved of a rig, in the order in which a technician goes through it. */
export const checkKinds = [
  'zero',
  'span',
  'detection-limit',
  'linearity',
  'response',
  'valve',
  'dilution',
  'line-leak',
  'uniformity',
  'belt',
  'clock',
] as const;
export const checkKindSchema = z.enum(checkKinds);
export type CheckKind = z.infer<typeof checkKindSchema>;

/** In which state of the rig it was made: as it is used, before anything was touched, or after a repair. */
export const checkConditionSchema = z.enum(['routine', 'as-found', 'as-left']);
export type CheckCondition = z.infer<typeof checkConditionSchema>;

/** What a check found, beside its limits. */
export const figureSchema = z.object({
  /** `mean`, `transit`, `answer 3`: unlike for every figure of a result. */
  figure: z.string().min(1).max(60),
  /** Null where it could not be had: then it is not within its limits. */
  value: z.number().nullable(),
  standardUncertainty: z.number().nonnegative().nullable(),
  /** Null: the photometer's unit, in results from before the unit was kept. */
  unit: z.enum(unitNames).nullable(),
  /** Null: no limit on that side. */
  low: z.number().nullable(),
  high: z.number().nullable(),
  passed: z.boolean(),
});
export type Figure = z.infer<typeof figureSchema>;

/** The verdict on what was recorded. */
export const checkVerdictSchema = z.object({
  figures: z.array(figureSchema).min(1),
  passed: z.boolean(),
  /** What the limits are and where they come from, or why it failed; whole sentences. */
  detail: z.string(),
});
export type CheckVerdict = z.infer<typeof checkVerdictSchema>;

/** A finished check. */
export const checkResultSchema = checkVerdictSchema.extend({
  check: checkKindSchema,
  /** Name of the port that it is about; null: the rig as a whole. */
  subject: slugSchema.nullable(),
  condition: checkConditionSchema,
  /** End of the check, wall clock, ISO 8601 in UTC. */
  at: z.string(),
  /** Code of who made it. */
  person: z.string(),
  /** Days for which a pass holds. */
  validDays: z.number().positive().max(3660),
});
export type CheckResult = z.infer<typeof checkResultSchema>;

/** A figure with its verdict. @param value null or not finite: it could not be had. */
export function figure(
  name: string,
  value: number | null,
  unit: Figure['unit'],
  limits: { readonly low?: number; readonly high?: number } = {},
  standardUncertainty: number | null = null,
): Figure {
  const had = value !== null && Number.isFinite(value) ? value : null;
  const { low = null, high = null } = limits;
  const doubt = standardUncertainty !== null && Number.isFinite(standardUncertainty) ? standardUncertainty : null;
  return {
    figure: name,
    value: had,
    standardUncertainty: doubt,
    unit,
    low,
    high,
    passed: had !== null && (low === null || had >= low) && (high === null || had <= high),
  };
}

/** All figures and their verdict. @param faults what is wrong besides figures outside of their limits. */
export function verdict(figures: readonly Figure[], limits: string, faults: readonly string[] = []): CheckVerdict {
  return {
    figures: [...figures],
    passed: faults.length === 0 && figures.every(({ passed }) => passed),
    detail: [...faults, limits].filter((sentence) => sentence !== '').join(' '),
  };
}
