import { z } from 'zod';
import { slugSchema } from './identity.ts';
import { unitNames } from './unit.ts';

/**
 * One value that must not be left: on which side of which number, for how long, and what is to be done then. Set by the
 * responsible person, who names where the number is from.
 */
export const watchedLimitSchema = z.object({
  /** Unique inside the rig; the alarm is called `limit-` and this. */
  name: slugSchema.max(34),
  /** What the alarm says first: `Fan flow low`. */
  title: z.string().min(1).max(40),
  instrument: slugSchema,
  stream: slugSchema,
  /** That of the stream: a limit in another one is refused when the rig is opened, never converted. */
  unit: z.enum(unitNames),
  /** The alarm is raised by a value above, or below, the limit; one that is equal is no cause. */
  side: z.enum(['above', 'below']),
  limit: z.number(),
  /** For how long every value has to be beyond it, s; 0: the first one counts. */
  holdSeconds: z.number().min(0).max(3600),
  /** The alarm clears when a value is this far back on the good side, in the unit. */
  clearBy: z.number().nonnegative(),
  /** By what the person must do: act now, look soon, know at the next rest. */
  priority: z.enum(['high', 'medium', 'low']),
  /** What to do. */
  action: z.string().min(1).max(160),
  /** Who set it, or the text it is from. */
  source: z.string().min(1).max(120),
});
export type WatchedLimit = z.infer<typeof watchedLimitSchema>;

/** Limits of a plan are named so, and those of a rig never: no alarm is two limits'. */
export const planLimitPrefix = 'plan-';

/** Name of the alarm of a limit. */
export function alarmOfLimit({ name }: Pick<WatchedLimit, 'name'>): string {
  return `limit-${name}`;
}
