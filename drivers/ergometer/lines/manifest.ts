import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkSetLine, setLineShape } from '../../framing/set-line.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { createErgometerCodec, ergometerLineDefaults, ergometerQuantities } from './codec.ts';
import { openErgometer } from './driver.ts';

/** Settings of an ergometer that prints and takes lines; the defaults are the words of our virtual instrument. */
export const ergometerSettingsSchema = z
  .strictObject({
    ...valueLineShape(ergometerLineDefaults),
    ...setLineShape('power'),
    /** Most that may be asked of a subject on this ergometer, W, 1 to 1000. Default 300. */
    highestPower: z.number().int().min(1).max(1000).default(300),
    /** After how long without a line it brakes no more by itself, s, 0.1 to 60. Default null: never. */
    ownTimeoutSeconds: z.number().min(0.1).max(60).nullable().default(null),
  })
  .superRefine((settings, context) => {
    checkValueLine(settings, context, ergometerQuantities);
    checkSetLine(settings, context);
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
  identify: (settings) => identifyValueLines(settings, createErgometerCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createErgometerCodec(settings)),
  open: openErgometer,
  listening: (settings) => ({ ...settings, poll: null }),
};
