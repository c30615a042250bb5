import { z } from 'zod';
import { rigFaultSchema, rigHandSchema } from '../../../drivers/virtual-rig/fault-schema.ts';
import { slugSchema } from '../../model/identity.ts';
import { rigSchema } from '../../model/rig.ts';
import { seriesSchema } from '../../model/series.ts';
import { microsecondsSchema } from '../../model/time.ts';

const connectionSchema = z.discriminatedUnion('transport', [
  z.object({ transport: z.literal('serial'), path: z.string().min(1), baudRate: z.number().positive() }),
  z.object({ transport: z.literal('tcp'), host: z.string().min(1), port: z.number().int().min(1).max(65_535) }),
  z.object({ transport: z.literal('in-process'), name: z.string().min(1) }),
]);

/** First line of the rig process: what it is and where its instruments are. */
export const rigGreetingSchema = z.object({
  rig: rigSchema,
  series: seriesSchema,
  connections: z.record(slugSchema, connectionSchema),
  /** The machine's monotonic clock when the rig began, µs: joins its truth to trial time. */
  monotonicOriginMicroseconds: microsecondsSchema,
});
export type RigGreeting = z.infer<typeof rigGreetingSchema>;

/** Every later line of the rig process. */
export const rigReportSchema = z.union([
  z.object({
    cable: z.discriminatedUnion('state', [
      z.object({ instrument: slugSchema, state: z.literal('pulled') }),
      z.object({ instrument: slugSchema, state: z.literal('back'), connection: connectionSchema }),
    ]),
  }),
  /** The program has set a load, or the valve has come to a port. */
  z.object({
    acted: z.discriminatedUnion('act', [
      z.object({
        act: z.literal('load'),
        instrument: slugSchema,
        watts: z.number(),
        atMicroseconds: microsecondsSchema,
      }),
      z.object({
        act: z.literal('valve'),
        instrument: slugSchema,
        port: z.number().int(),
        atMicroseconds: microsecondsSchema,
      }),
    ]),
  }),
  /** A line on stdin that was not understood, or a fault that the rig cannot have. */
  z.object({ refused: z.string() }),
  /** Last line of a clean end: bytes given up because a program did not read, by instrument. */
  z.object({ ended: z.object({ droppedBytes: z.record(slugSchema, z.number().int().nonnegative()) }) }),
]);
export type RigReport = z.infer<typeof rigReportSchema>;

const subjectCueSchema = z.object({
  cue: z.enum(['enter', 'rest', 'begin', 'end', 'stop', 'leave']),
  exercise: slugSchema.nullable(),
});

/** Lines that the rig process takes on stdin. */
export const rigCommandSchema = z.union([
  z.object({ cue: subjectCueSchema }),
  z.object({ fault: rigFaultSchema }),
  z.object({ hand: rigHandSchema }),
  z.object({ stop: z.literal(true) }),
]);
export type RigCommand = z.infer<typeof rigCommandSchema>;
