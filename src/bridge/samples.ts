import { z } from 'zod';
import { identifierSchema } from '../model/identity.ts';
import { microsecondsSchema } from '../model/time.ts';
import { helloSchema } from './hello.ts';

/**
 * The sample channel, window → host, as JSON text. The host answers with binary frames only (`frame.ts`).
 *
 * Credit: a window starts with `initialCredit` frames. Each live or history frame takes one; the window gives one
 * back for every frame that it has drawn or put away. Without credit the host sends nothing but heartbeats, keeps
 * the newest readings, and says in the next live frame how many were left out; the window then asks for the history
 * of the gap, which is answered from disk and from what is not yet on disk.
 */
export const initialCredit = 8;

/** The host sends a heartbeat this often, whether or not there are samples. */
export const heartbeatMilliseconds = 250;

/** A window without any message from the host for this long says so itself. */
export const hostLostMilliseconds = 1_250;

export const sampleMessageSchema = z.discriminatedUnion('message', [
  /** First message of the door that needs it: the per-window secret. */
  helloSchema,
  z.object({ message: z.literal('credit'), frames: z.number().int().min(1).max(1000) }),
  /** Live samples of these streams of the open rig, from now on; replaces the list before. */
  z.object({ message: z.literal('subscribe'), streams: z.array(z.number().int().nonnegative()).max(64) }),
  z.object({
    message: z.literal('history'),
    /** Comes back in the frames. Newer requests of the same window do not end older ones. */
    request: z.number().int().nonnegative().max(0xffffffff),
    /** Null: the readings of the open rig, as far as the host still has them, and of the trial under way. */
    of: z.object({ file: z.string(), trial: identifierSchema }).nullable(),
    stream: z.number().int().nonnegative(),
    fromMicroseconds: microsecondsSchema,
    toMicroseconds: microsecondsSchema,
    /** At most this many samples; thinned to lowest and highest of each stretch where there are more. */
    mostSamples: z.number().int().min(2).max(200_000),
  }),
]);
export type SampleMessage = z.infer<typeof sampleMessageSchema>;
