import { z } from 'zod';
import { slugSchema } from '../model/identity.ts';
import { problemCodeNames } from '../model/reading.ts';

/** What a window sees of the bytes between the host and one instrument. */

/** Something on the wire. `number` rises by one with each entry of its instrument, from 1. */
export const wireEntrySchema = z.discriminatedUnion('entry', [
  z.object({
    entry: z.literal('bytes'),
    number: z.number().int().positive(),
    /** Host clock, µs. */
    atMicroseconds: z.number(),
    /** Seen from the program. */
    direction: z.enum(['in', 'out']),
    /** One read or one write, two hexadecimal digits a byte. */
    hex: z.string(),
  }),
  z.object({
    entry: z.literal('problem'),
    number: z.number().int().positive(),
    atMicroseconds: z.number(),
    code: z.enum(problemCodeNames),
    detail: z.string(),
    byteCount: z.number().int().nonnegative(),
  }),
]);
export type WireEntry = z.infer<typeof wireEntrySchema>;

/** Since the rig was opened, over all connections of the instrument. */
export const wireCountsSchema = z.object({
  receivedBytes: z.number().int().nonnegative(),
  sentBytes: z.number().int().nonnegative(),
  /** Lines, or answers of a dialect without lines, as the driver's framing cuts them. */
  frames: z.number().int().nonnegative(),
  /** By code, those included that the record adds up into one. */
  problems: z.array(
    z.object({ code: z.enum(problemCodeNames), count: z.number().int(), byteCount: z.number().int() }),
  ),
  /** Over the last ten seconds at most, up to now. */
  framesPerSecond: z.number().nonnegative(),
  receivedBytesPerSecond: z.number().nonnegative(),
  /**
   * From one frame's arrival to the next, in the last ten seconds; null with fewer than three frames. Jitter is their
   * standard deviation; the longest may be the wait for a frame that has not come yet.
   */
  intervals: z
    .object({
      count: z.number().int(),
      meanSeconds: z.number(),
      jitterSeconds: z.number(),
      longestSeconds: z.number(),
    })
    .nullable(),
});
export type WireCounts = z.infer<typeof wireCountsSchema>;

/** A capture to a file: how it stands. `stopped`: not by a person. */
export const captureStateSchema = z.object({
  state: z.enum(['running', 'ended', 'stopped']),
  /** Whole path on the machine of the host. */
  path: z.string(),
  bytes: z.number().int().nonnegative(),
  /** Why it stopped, in words; null where it did not. */
  detail: z.string().nullable(),
});
export type CaptureState = z.infer<typeof captureStateSchema>;

/** @param after number of the entry that was seen last; null: begin with the newest. */
export const wireAskSchema = z.object({ instrument: slugSchema, after: z.number().int().nonnegative().nullable() });

export const wireViewSchema = z.object({
  /** Host clock, µs. */
  nowMicroseconds: z.number(),
  entries: z.array(wireEntrySchema),
  /** Entries between `after` and the last of these that were gone from memory before they were asked for. */
  missed: z.number().int().nonnegative(),
  /** There is more at once. */
  more: z.boolean(),
  counts: wireCountsSchema,
  capture: captureStateSchema.nullable(),
  /** Its line goes through the guard, and what the guard itself says there is not among the entries. */
  guarded: z.boolean(),
});
export type WireView = z.infer<typeof wireViewSchema>;
