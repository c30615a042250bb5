import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities, plausibleSchema } from '../../framing/quantity.ts';
import { checkValueLine, valueLineShape } from '../../framing/value-line.ts';
import { beatLineDefaults, beatLineQuantities, beatQuantities, createBeatCodec } from './codec.ts';
import { openBeats } from './driver.ts';

/** Settings of a receiver that prints one line a beat. */
export const beatSettingsSchema = z
  .strictObject({
    ...valueLineShape(beatLineDefaults),
    plausible: plausibleSchema(beatQuantities),
    /** Intervals of which a heart rate is made, 1 to 20. Default 4. */
    averageBeats: z.number().int().min(1).max(20).default(4),
  })
  .superRefine((settings, context) => {
    checkValueLine(settings, context, beatLineQuantities);
  });
export type BeatSettings = z.output<typeof beatSettingsSchema>;

export const heartRateBeatLines: DriverManifest<BeatSettings> = {
  kind: 'heart-rate',
  dialect: 'beat-lines',
  title: 'Heart-rate belt whose receiver prints the interval of each beat',
  serial: { baudRate: 9_600 },
  settings: beatSettingsSchema,
  streams: (instrument, settings) => describeQuantities(instrument, beatQuantities, settings),
  identify: (settings) => identifyValueLines(settings, createBeatCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createBeatCodec(settings)),
  open: openBeats,
  listening: (settings) => ({ ...settings, poll: null }),
};
