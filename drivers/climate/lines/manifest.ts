import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { climateLineDefaults, climateQuantities, createClimateCodec } from './codec.ts';
import { openClimate } from './driver.ts';

/** Settings of a climate instrument that prints lines; the defaults are the line of our virtual instrument. */
export const climateSettingsSchema = z
  .strictObject(valueLineShape(climateLineDefaults))
  .superRefine((settings, context) => {
    checkValueLine(settings, context, climateQuantities);
  });
export type ClimateSettings = z.output<typeof climateSettingsSchema>;

export const climateLines: DriverManifest<ClimateSettings> = {
  kind: 'climate',
  dialect: 'lines',
  title: 'Temperature, humidity and pressure of the chamber, as text lines',
  serial: { baudRate: 9_600 },
  settings: climateSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, quantitiesInLine(settings, climateQuantities), settings),
  identify: (settings) => identifyValueLines(settings, createClimateCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createClimateCodec(settings)),
  open: openClimate,
  listening: (settings) => ({ ...settings, poll: null }),
};
