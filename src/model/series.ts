import { z } from 'zod';
import { slugSchema } from './identity.ts';

const seconds = z.number().nonnegative().max(36_000);
const positiveSeconds = z.number().positive().max(36_000);

/**
 * How the body moves, for the figure that shows it. In `march`, `twist`, `bend`, `crawl` and `ladder` a beat is one
 * side; in the others it is the whole movement, there and back.
 */
export const movementSchema = z.enum([
  'stand',
  'march',
  'knee-bend',
  'reach',
  'twist',
  'bend',
  'crawl',
  'ladder',
  'step',
]);
export type Movement = z.infer<typeof movementSchema>;

/** One exercise and the rest before it. */
export const exerciseSchema = z.object({
  exercise: slugSchema,
  name: z.string().min(1),
  /** What the subject is told to do. */
  instruction: z.string().min(1),
  /** What the operator is to look at or do in it; left out: nothing besides. */
  operatorText: z.string().min(1).optional(),
  /** Rest before the exercise, s. The chamber reference is read for all of it but the last `restZeroSeconds`. */
  restSeconds: positiveSeconds,
  /** Part at the end of the rest that is already on filtered air, s. */
  restZeroSeconds: seconds,
  /** From the first movement; filtered air is read while the zones settle to it, s. */
  leadInSeconds: seconds,
  /** From the first movement to the last, lead-in included, s. */
  durationSeconds: positiveSeconds,
  /** Dwells that each probe gets in this exercise: 1 is whole, 2 is split, … */
  dwellsPerProbe: z.number().int().min(1).max(6),
  cadencePerMinute: z.number().positive().nullable(),
  /** Left out: the subject is told in words only. */
  movement: movementSchema.optional(),
  workRateWatts: z.number().nonnegative().nullable(),
});
export type Exercise = z.infer<typeof exerciseSchema>;

/** A series: what happens from the background reading to the closing zero. Versioned; frozen into every trial. */
export const seriesSchema = z.object({
  name: z.string().min(1),
  version: z.number().int().positive(),
  source: z.string().min(1),
  /** Every probe before the challenge: filtered air, each probe in rig order, filtered air. */
  background: z.object({ zeroSeconds: positiveSeconds, dwellSeconds: positiveSeconds }),
  /** After the subject has entered: chamber reference until the challenge is steady. */
  entry: z.object({
    minimumSeconds: positiveSeconds,
    maximumSeconds: positiveSeconds,
    /** Steady when (highest − lowest)/mean of the reference over the window is at most this, percent. */
    steadyRangePercent: z.number().positive(),
    steadyWindowSeconds: positiveSeconds,
    /** Below this share of the nominal challenge there is none, percent. */
    leastChallengePercent: z.number().positive(),
  }),
  exercises: z.array(exerciseSchema).min(1),
  closing: z.object({ referenceSeconds: positiveSeconds, zeroSeconds: positiveSeconds }),
  order: z.object({
    kind: z.enum(['rotated', 'fixed']),
    /** Row of the rotation with which the first exercise begins: differs by subject. */
    offset: z.number().int().nonnegative(),
    /** Ordered pairs of probes [before, after] that must never follow each other. */
    forbidden: z.array(z.tuple([slugSchema, slugSchema])),
  }),
});
export type Series = z.infer<typeof seriesSchema>;
