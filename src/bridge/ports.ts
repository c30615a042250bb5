import { z } from 'zod';
import { machinePortSchema } from '../device/port-identity.ts';
import { slugSchema } from '../model/identity.ts';

/** A port of the machine on which the host runs. */
export const offeredPortSchema = machinePortSchema.extend({
  /** Who has it open, in words: such a port is not asked. Null: nobody that is known. */
  usedBy: z.string().nullable(),
});
export type OfferedPort = z.infer<typeof offeredPortSchema>;

export const offeredPortsSchema = z.object({
  ports: z.array(offeredPortSchema),
  /** Why the list may lack something, and what to do; null: nothing to say. */
  note: z.string().nullable(),
});
export type OfferedPorts = z.infer<typeof offeredPortsSchema>;

/** An instrument as it is set, and the speed of the line on which it is or would be. */
export const lineAskSchema = z.object({
  kind: slugSchema,
  dialect: slugSchema,
  settings: z.record(z.string(), z.unknown()),
  baudRate: z.number().int().min(50).max(4_000_000),
});
export type LineAsk = z.infer<typeof lineAskSchema>;

/** How such an instrument is recognised, and whether the line can carry it. */
export const lineViewSchema = z.object({
  /** Null: nothing that it says tells it. */
  recognised: z
    .object({
      /** What is written to ask, as text or as hexadecimal digits; null: nothing, it is listened to. */
      question: z.string().nullable(),
      limitSeconds: z.number(),
    })
    .nullable(),
  /** What it sends, with the arithmetic; null: nothing at intervals. */
  load: z.string().nullable(),
  /** Why the line cannot carry it, with the arithmetic; null: it can. */
  overload: z.string().nullable(),
});
export type LineView = z.infer<typeof lineViewSchema>;

/** Bytes are written to these ports, or they are listened to: a person has chosen each. */
export const portsAskSchema = lineAskSchema.extend({ ports: z.array(z.string().min(1)).min(1).max(32) });

export const askedPortSchema = z.object({
  path: z.string(),
  /** `used`: it was left alone. */
  answer: z.enum(['recognised', 'other', 'nothing', 'failed', 'used']),
  /** Who the instrument says that it is; null where it says nothing of the kind. */
  told: z.string().nullable(),
  detail: z.string(),
});
export type AskedPort = z.infer<typeof askedPortSchema>;
