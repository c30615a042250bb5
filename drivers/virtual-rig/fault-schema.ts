import { z } from 'zod';
import { slugSchema } from '../../src/model/identity.ts';

const seconds = z.number().nonnegative().max(86_400);

/** As WireFault of src/device/simulator.ts: the compiler holds the two together where a scenario is started. */
export const wireFaultSchema = z.discriminatedUnion('fault', [
  z.object({ fault: z.literal('garbage'), seconds }),
  z.object({ fault: z.literal('truncated'), seconds }),
  z.object({ fault: z.literal('merged'), seconds }),
  z.object({ fault: z.literal('wrong-checksum'), seconds }),
  z.object({ fault: z.literal('silence'), seconds }),
  z.object({ fault: z.literal('frozen'), seconds }),
]);

/** As RigFault of contract.ts, for faults that arrive as data: from a scenario file or another process. */
export const rigFaultSchema = z.discriminatedUnion('fault', [
  z.object({ fault: z.literal('wire'), instrument: slugSchema, wire: wireFaultSchema }),
  z.object({ fault: z.literal('unplug'), instrument: slugSchema, seconds, newName: z.boolean() }),
  z.object({ fault: z.literal('generator-stops'), seconds }),
  z.object({ fault: z.literal('line-blocked'), probe: slugSchema, seconds }),
  z.object({ fault: z.literal('contact-lost'), seconds }),
  z.object({ fault: z.literal('valve'), behaviour: z.enum(['late', 'wrong', 'never']), seconds }),
  z.object({ fault: z.literal('door-opens') }),
  z.object({ fault: z.literal('zero-jump'), percentOfChallenge: z.number() }),
  z.object({ fault: z.literal('span-jump'), percent: z.number().gt(-100) }),
]);
