import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkSetLine, setLineShape } from '../../framing/set-line.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { createTreadmillCodec, treadmillLineDefaults, treadmillQuantities } from './codec.ts';
import { openTreadmill } from './driver.ts';

/** Settings of a treadmill that prints and takes lines; the defaults are the words of our virtual instrument. */
export const treadmillSettingsSchema = z
  .strictObject({
    ...valueLineShape(treadmillLineDefaults),
    ...setLineShape('speed'),
    /** Most that may be asked of a subject on this treadmill, km/h, 0.1 to 25, one decimal. Default 8. */
    highestSpeed: z
      .number()
      .min(0.1)
      .max(25)
      .refine((speed) => Math.abs(10 * speed - Math.round(10 * speed)) < 1e-9, 'give one decimal: speeds are sent so')
      .default(8),
    /** After how long without a line it stops by itself, s, 0.1 to 60. Default null: never. */
    ownTimeoutSeconds: z.number().min(0.1).max(60).nullable().default(null),
  })
  .superRefine((settings, context) => {
    checkValueLine(settings, context, treadmillQuantities);
    checkSetLine(settings, context);
  });
export type TreadmillSettings = z.output<typeof treadmillSettingsSchema>;

export const treadmillLines: DriverManifest<TreadmillSettings> = {
  kind: 'treadmill',
  dialect: 'lines',
  title: 'Treadmill: speed and incline as text lines, speed set by a line',
  serial: { baudRate: 9_600 },
  settings: treadmillSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, quantitiesInLine(settings, treadmillQuantities), settings),
  ownTimeoutSeconds: (settings) => settings.ownTimeoutSeconds,
  identify: (settings) => identifyValueLines(settings, createTreadmillCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createTreadmillCodec(settings)),
  open: openTreadmill,
  listening: (settings) => ({ ...settings, poll: null }),
};
