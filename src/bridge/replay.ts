import { z } from 'zod';

/** How many times faster than it was a trial can be played. */
export const replaySpeeds = [0.5, 1, 2, 4, 8, 15, 30, 60] as const;

/** What a hand at the transport keys asks for; what is left out stays as it is. */
export const replayChangeSchema = z.object({
  playing: z.boolean().optional(),
  speed: z.number().min(0.1).max(100).optional(),
  /** Trial time to go to, µs. */
  atMicroseconds: z.number().int().nonnegative().optional(),
  /** How far to go on from the moment that is shown, or back; µs. Two presses in a row go twice as far. */
  byMicroseconds: z.number().int().optional(),
  /** To the next speed, up or down. */
  step: z.union([z.literal(1), z.literal(-1)]).optional(),
});
export type ReplayChange = z.infer<typeof replayChangeSchema>;
