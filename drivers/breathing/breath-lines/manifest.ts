import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { breathLineDefaults, breathQuantities, createBreathCodec } from './codec.ts';
import { openBreaths } from './driver.ts';

/** Settings of an instrument that prints one line a breath; the defaults are the line of our virtual instrument. */
export const breathSettingsSchema = z
  .strictObject(valueLineShape(breathLineDefaults))
  .superRefine((settings, context) => {
    checkValueLine(settings, context, breathQuantities);
  });
export type BreathSettings = z.output<typeof breathSettingsSchema>;

export const breathingBreathLines: DriverManifest<BreathSettings> = {
  kind: 'breathing',
  dialect: 'breath-lines',
  title: 'Volume, frequency and ventilation of each breath, as text lines',
  serial: { baudRate: 9_600 },
  settings: breathSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, quantitiesInLine(settings, breathQuantities), settings),
  identify: (settings) => identifyValueLines(settings, createBreathCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createBreathCodec(settings)),
  open: openBreaths,
  listening: (settings) => ({ ...settings, poll: null }),
};
