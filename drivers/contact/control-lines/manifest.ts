import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { contactRemarks, contactShape } from '../../framing/contact.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { createControlLineCodec } from './codec.ts';
import { openControlLines } from './driver.ts';

const inputSchema = z.enum(['cts', 'dsr', 'dcd', 'ri']).nullable();
const outputSchema = z.enum(['dtr', 'rts']).nullable();

/** Settings of contacts between the control lines of a serial port. */
export const controlLineContactSettingsSchema = z
  .strictObject({
    ...contactShape,
    /** The line on which each contact stands; an asserted line is a closed contact. null: there is no such contact. */
    inputs: z
      .strictObject({
        /** Default `cts`. */
        stop: inputSchema.default('cts'),
        /** Default none. */
        'foot-stop': inputSchema.default(null),
        /** Default none. */
        door: inputSchema.default(null),
      })
      .prefault({}),
    /** The line that feeds the contacts and is always on; null: they are fed from elsewhere. Default `dtr`. */
    supply: outputSchema.default('dtr'),
    /** The line that switches a lamp or horn; null (default): there is none. */
    beacon: outputSchema.default(null),
    /** Between two looks, s, 0.01 to 1; null: nothing is looked at. Default 0.05. */
    intervalSeconds: z.number().min(0.01).max(1).nullable().default(0.05),
    /** No reading for longer than this is a problem, s. Default 1. */
    silenceLimitSeconds: z.number().positive().max(60).default(1),
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    const lines = Object.values(settings.inputs).flatMap((line) => line ?? []);
    if (lines.length === 0) problem('name at least one contact', 'inputs');
    if (new Set(lines).size !== lines.length) problem('two contacts stand on the same line', 'inputs');
    if (settings.beacon !== null && settings.beacon === settings.supply) problem('feeds the contacts', 'beacon');
    if (settings.intervalSeconds !== null && settings.silenceLimitSeconds <= settings.intervalSeconds) {
      problem('must be longer than the interval', 'silenceLimitSeconds');
    }
  });
export type ControlLineContactSettings = z.output<typeof controlLineContactSettingsSchema>;

export const contactControlLines: DriverManifest<ControlLineContactSettings> = {
  kind: 'contact',
  dialect: 'control-lines',
  title: 'Stop contacts, door and beacon on the control lines of a serial port',
  // No bytes travel.
  serial: { baudRate: 9_600 },
  settings: controlLineContactSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createControlLineCodec(settings).quantities, {
      ...settings,
      expectedIntervalSeconds: settings.intervalSeconds,
      plausible: {},
    }),
  remarks: (settings) => contactRemarks(settings, createControlLineCodec(settings).quantities),
  open: openControlLines,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
