import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { commandSchema } from '../../framing/settings.ts';
import { compileTemplate } from '../../framing/template.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { ergometerLineDefaults, ergometerQuantities } from './codec.ts';
import { openErgometer } from './driver.ts';

/** Settings of an ergometer that prints and takes lines; the defaults are the words of our virtual instrument. */
export const ergometerSettingsSchema = z
  .strictObject({
    ...valueLineShape(ergometerLineDefaults),
    /** Sets the power. Default `power {value}`. */
    command: commandSchema.default('power {value}'),
    /** Says that it is set. Default `ok power {value}`. */
    acknowledge: commandSchema.default('ok power {value}'),
    /** Says that it will not. Default `no {any}`. */
    refusal: commandSchema.default('no {any}'),
    /** For the acknowledgement, from the command, s, 0.05 to 10. Default 1. */
    acknowledgeTimeoutSeconds: z.number().min(0.05).max(10).default(1),
    /** Most that may be asked of a subject on this ergometer, W, 1 to 1000. Default 300. */
    highestPower: z.number().int().min(1).max(1000).default(300),
    /** After how long without a line it brakes no more by itself, s, 0.1 to 60. Default null: never. */
    ownTimeoutSeconds: z.number().min(0.1).max(60).nullable().default(null),
  })
  .superRefine((settings, context) => {
    checkValueLine(settings, context, ergometerQuantities);
    for (const field of ['command', 'acknowledge', 'refusal'] as const) {
      try {
        const { tokens } = compileTemplate(settings[field], field === 'refusal' ? ['any'] : ['value', 'any']);
        if (field !== 'refusal' && !tokens.includes('value')) throw new RangeError('must hold {value}');
        if (field === 'command' && tokens.includes('any')) throw new RangeError('a command cannot hold {any}');
      } catch (error) {
        const message = error instanceof Error ? error.message : String(error);
        context.addIssue({ code: 'custom', message, path: [field] });
      }
    }
  });
export type ErgometerSettings = z.output<typeof ergometerSettingsSchema>;

export const ergometerLines: DriverManifest<ErgometerSettings> = {
  kind: 'ergometer',
  dialect: 'lines',
  title: 'Cycle ergometer: power and cadence as text lines, power set by a line',
  serial: { baudRate: 9_600 },
  settings: ergometerSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, quantitiesInLine(settings, ergometerQuantities), settings),
  ownTimeoutSeconds: (settings) => settings.ownTimeoutSeconds,
  open: openErgometer,
  listening: (settings) => ({ ...settings, poll: null }),
};
