import { z } from 'zod';

/**
 * A named, versioned set of choices that turns a trial into leakage. An assessment is trial × method × program
 * version. Only choices that the program can perform appear here.
 */
export const methodSchema = z.object({
  name: z.string().min(1),
  version: z.number().int().positive(),
  /** Where S comes from: the chamber reference (then the reading already carries the challenge). */
  spanSource: z.literal('chamber-reference'),
  /** Zero and reference between the dwells around a reading. */
  interpolation: z.enum(['linear', 'before-and-after-mean']),
  /** How the zero moves between two zeros, beyond a straight line, for the budget; absent: `smooth`. */
  zeroDriftShape: z.enum(['smooth', 'random-walk']).optional(),
  /**
   * Time after the arrival of a new port's air that is not used, s. `adaptive`: at the least that, and for each dwell
   * as much longer as the readings before it ask for, but so that `windowSeconds` of the dwell are left; the time
   * constant is then the one that the trial itself shows.
   */
  settling: z.discriminatedUnion('rule', [
    z.object({ rule: z.literal('fixed'), seconds: z.number().positive() }),
    z.object({ rule: z.literal('adaptive'), seconds: z.number().positive(), windowSeconds: z.number().positive() }),
  ]),
  /** The same for zero dwells, which follow the reference and need longer, s. */
  zeroSettlingSeconds: z.number().positive(),
  /** mean(c) = mean(y) + tau (y_end − y_start)/W. */
  lagCorrection: z.boolean(),
  /** Ends of the window over which y_start and y_end are averaged, s. */
  lagEndSeconds: z.number().positive(),
  /** Window end is moved forward by this many standard deviations of the common line's dispersion. */
  guardDispersions: z.number().nonnegative(),
  subtractBackground: z.boolean(),
  applyDilution: z.boolean(),
  applyPenetration: z.boolean(),
  applySpatialFactor: z.boolean(),
  /** (t_in + t_ex)/t_in for probes in the breathing zone; absent: applied. */
  applyBreathingZone: z.boolean().optional(),
  /** A dwell counts as unsettled when its estimated carry-over exceeds this share of its value, percent … */
  carryOverPercent: z.number().positive(),
  /**
   * This many standard uncertainties of a cell that holds no leakage are its detection limit, and what noise alone may
   * do wherever a reading is held against noise.
   */
  detectionFactor: z.number().positive(),
  /** Another definition for the limit alone: 3 s, 10 s or t(0.99, ν) · s of filtered air; absent: `detectionFactor`. */
  detectionLimit: z.enum(['three-s', 'ten-s', 't-s']).optional(),
  /** Challenge before and after an exercise may differ by this much of their mean before it is flagged, percent. */
  challengeChangePercent: z.number().positive(),
  /** Zero may move by this share of the challenge between successive zero dwells before it is flagged, percent. */
  zeroChangePercent: z.number().positive(),
  /**
   * A move of the zero between two zero dwells that is larger than so many standard deviations of the trial's other
   * moves is a step, and flags the windows that it may spoil; absent: steps are not looked for.
   */
  zeroStepDeviations: z.number().positive().optional(),
  /** Span may change by this share between first and last reference before it is flagged, percent. */
  spanChangePercent: z.number().positive(),
});
export type Method = z.infer<typeof methodSchema>;
