import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyValueLines, valueLineLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkValueLine, valueLineShape } from '../../framing/value-line.ts';
import { createFlowCodec, flowLineDefaults, flowQuantities } from './codec.ts';
import { openBreathingFlow } from './driver.ts';

/** Settings of an instrument that prints the flow of breath; the defaults are the line of our virtual instrument. */
export const breathingFlowSettingsSchema = z
  .strictObject({
    ...valueLineShape(flowLineDefaults),
    /** Sign of flow into the subject on the wire; readings have it positive. Default `positive`. */
    inward: z.enum(['positive', 'negative']).default('positive'),
  })
  .superRefine((settings, context) => {
    checkValueLine(settings, context, flowQuantities);
  });
export type BreathingFlowSettings = z.output<typeof breathingFlowSettingsSchema>;

export const breathingFlowLines: DriverManifest<BreathingFlowSettings> = {
  kind: 'breathing',
  dialect: 'flow-lines',
  title: 'Flow of breath at 50 to 100 Hz, as text lines',
  serial: { baudRate: 115_200 },
  settings: breathingFlowSettingsSchema,
  streams: (instrument, settings) => describeQuantities(instrument, flowQuantities, settings),
  identify: (settings) => identifyValueLines(settings, createFlowCodec(settings)),
  wireLoad: (settings) => valueLineLoad(settings, createFlowCodec(settings)),
  open: openBreathingFlow,
  listening: (settings) => ({ ...settings, poll: null }),
};
