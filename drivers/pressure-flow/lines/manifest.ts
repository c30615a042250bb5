import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkValueLine, quantitiesInLine, valueLineShape } from '../../framing/value-line.ts';
import { createPressureFlowCodec, pressureFlowLineDefaults, pressureFlowQuantities } from './codec.ts';
import { openPressureFlow } from './driver.ts';

/** Settings of an instrument at the ensemble that prints lines; the defaults are the line of our virtual instrument. */
export const pressureFlowSettingsSchema = z
  .strictObject(valueLineShape(pressureFlowLineDefaults))
  .superRefine((settings, context) => {
    checkValueLine(settings, context, pressureFlowQuantities);
  });
export type PressureFlowSettings = z.output<typeof pressureFlowSettingsSchema>;

export const pressureFlowLines: DriverManifest<PressureFlowSettings> = {
  kind: 'pressure-flow',
  dialect: 'lines',
  title: 'Pressure, fan flow and carbon dioxide of the ensemble, as text lines',
  serial: { baudRate: 9_600 },
  settings: pressureFlowSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, quantitiesInLine(settings, pressureFlowQuantities), settings),
  identify: (settings) => identifyValueLines(settings, createPressureFlowCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createPressureFlowCodec(settings)),
  open: openPressureFlow,
  listening: (settings) => ({ ...settings, poll: null }),
};
