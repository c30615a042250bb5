import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyModbus, modbusLoad } from '../../framing/identify.ts';
import { pollRhythm } from '../../framing/modbus-poll.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkRegisters, registerShape } from '../../framing/register-table.ts';
import { pressureFlowRegisterDefaults, createPressureFlowRegisterCodec } from './codec.ts';
import { openPressureFlowRegisters } from './driver.ts';

/** Settings of an instrument at the ensemble with registers; the defaults are the map of our virtual instrument. */
export const pressureFlowRegisterSettingsSchema = z
  .strictObject(registerShape(pressureFlowRegisterDefaults))
  .superRefine(checkRegisters);
export type PressureFlowRegisterSettings = z.output<typeof pressureFlowRegisterSettingsSchema>;

export const pressureFlowModbusRegisters: DriverManifest<PressureFlowRegisterSettings> = {
  kind: 'pressure-flow',
  dialect: 'modbus-registers',
  title: 'Pressure, fan flow and carbon dioxide of the ensemble, in Modbus registers',
  serial: { baudRate: 9_600 },
  sharesLine: true,
  settings: pressureFlowRegisterSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createPressureFlowRegisterCodec(settings).quantities, pollRhythm(settings)),
  identify: (settings) => identifyModbus(settings, createPressureFlowRegisterCodec(settings).requests[0]),
  wireLoad: (settings) => modbusLoad(createPressureFlowRegisterCodec(settings).requests, settings.intervalSeconds),
  open: openPressureFlowRegisters,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
