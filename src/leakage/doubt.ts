import { z } from 'zod';
import type { Flag } from './flag.ts';
import { flagSchema, orderFlags } from './flag.ts';

/** What was measured when a flag was raised, and the limit it was held against; null where there is none. */
const figureSchema = z.object({
  value: z.number(),
  limit: z.number().nullable(),
  /** `reading` is the unit of the photometer's stream. */
  unit: z.enum(['reading', 'percent', 'seconds', 'readings', 'dwells']),
});

/** A flag together with what raised it. */
export const doubtSchema = z.object({
  flag: flagSchema,
  /** Dwell in which it was found; null when it concerns no single one. */
  dwell: z.number().int().nullable(),
  /** What was found, in words, without the figure. */
  found: z.string(),
  figure: figureSchema.nullable(),
});
export type Doubt = z.infer<typeof doubtSchema>;
type Figure = z.infer<typeof figureSchema>;

/** @param limit null where the value is not held against anything. */
export function figure(value: number, limit: number | null, unit: Figure['unit']): Figure {
  return { value, limit, unit };
}

/** @param measured null where nothing was measured. */
export function doubt(flag: Flag, dwell: number | null, found: string, measured: Figure | null = null): Doubt {
  return { flag, dwell, found, figure: measured };
}

/** Doubts that can be reached on several ways, each once, in the order in which they were reached. */
export function distinctDoubts(doubts: Iterable<Doubt>): Doubt[] {
  return [...new Set(doubts)];
}

/** The flags of doubts, without repeats, in the order of the vocabulary. */
export function flagsOf(doubts: readonly Doubt[]): Flag[] {
  return orderFlags(doubts.map(({ flag }) => flag));
}

export function hasFlag(doubts: readonly Doubt[], flag: Flag): boolean {
  return doubts.some((candidate) => candidate.flag === flag);
}
