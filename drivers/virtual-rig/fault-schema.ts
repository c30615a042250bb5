import { z } from 'zod';
import { contactStreams } from '../../src/model/contact.ts';
import { slugSchema } from '../../src/model/identity.ts';

const seconds = z.number().nonnegative().max(86_400);

/** As WireFault of src/device/simulator.ts: the compiler holds the two together where a scenario is started. */
export const wireFaultSchema = z.discriminatedUnion('fault', [
  z.strictObject({ fault: z.literal('garbage'), seconds }),
  z.strictObject({ fault: z.literal('truncated'), seconds }),
  z.strictObject({ fault: z.literal('merged'), seconds }),
  z.strictObject({ fault: z.literal('wrong-checksum'), seconds }),
  z.strictObject({ fault: z.literal('silence'), seconds }),
  z.strictObject({ fault: z.literal('frozen'), seconds }),
]);

/** As RigFault of contract.ts, for faults that arrive as data: from a scenario file or another process. */
export const rigFaultSchema = z.discriminatedUnion('fault', [
  z.strictObject({ fault: z.literal('wire'), instrument: slugSchema, wire: wireFaultSchema }),
  z.strictObject({ fault: z.literal('unplug'), instrument: slugSchema, seconds, newName: z.boolean() }),
  z.strictObject({ fault: z.literal('generator-stops'), seconds }),
  z.strictObject({ fault: z.literal('line-blocked'), probe: slugSchema, seconds }),
  z.strictObject({ fault: z.literal('line-leaks'), probe: slugSchema, percent: z.number().min(0).max(100), seconds }),
  z.strictObject({ fault: z.literal('contact-lost'), seconds }),
  z.strictObject({ fault: z.literal('subject-stop'), seconds }),
  z.strictObject({
    fault: z.literal('contact'),
    contact: z.enum(contactStreams),
    failure: z.enum(['stuck', 'bounce', 'wire-cut']),
    seconds,
  }),
  z.strictObject({ fault: z.literal('valve'), behaviour: z.enum(['late', 'wrong', 'never']), seconds }),
  z.strictObject({ fault: z.literal('door-opens') }),
  z.strictObject({ fault: z.literal('zero-jump'), percentOfChallenge: z.number().min(-10_000).max(10_000) }),
  z.strictObject({ fault: z.literal('span-jump'), percent: z.number().gt(-100).max(10_000) }),
]);

/** As RigHand of contract.ts, for what another process asks for. */
export const rigHandSchema = z.discriminatedUnion('hand', [
  z.object({ hand: z.literal('inlet'), probe: slugSchema, air: z.enum(['own', 'chamber', 'filtered']) }),
  z.object({ hand: z.literal('source'), probe: slugSchema, concentration: z.number().nonnegative() }),
  z.object({ hand: z.literal('place'), probe: slugSchema, place: slugSchema }),
]);
