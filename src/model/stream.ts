import { z } from 'zod';
import { slugSchema } from './identity.ts';
import { unitNames } from './unit.ts';

/** What one column of readings is: its name, unit, precision, limits and rhythm. Frozen into every trial. */
export const streamDescriptorSchema = z.object({
  /** Instrument that gives it, then the stream: unique together inside a rig. */
  instrument: slugSchema,
  stream: slugSchema,
  unit: z.enum(unitNames),
  /** Smallest step worth showing, in the unit. */
  resolution: z.number().positive(),
  /** Readings outside are reported as a problem of code `reading-out-of-range` and kept; null: no limit. */
  plausibleLow: z.number().nullable(),
  plausibleHigh: z.number().nullable(),
  /** Time between readings when all is well, s; null when readings come by event. */
  expectedIntervalSeconds: z.number().positive().nullable(),
  /** No reading for longer than this is a fault, s; null only where silence is normal. */
  silenceLimitSeconds: z.number().positive().nullable(),
});
export type StreamDescriptor = z.infer<typeof streamDescriptorSchema>;
