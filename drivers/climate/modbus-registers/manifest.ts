import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyModbus, modbusLoad } from '../../framing/identify.ts';
import { pollRhythm } from '../../framing/modbus-poll.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkRegisters, registerShape } from '../../framing/register-table.ts';
import { climateRegisterDefaults, createClimateRegisterCodec } from './codec.ts';
import { openClimateRegisters } from './driver.ts';

/** Settings of a climate instrument with registers; the defaults are the map of our virtual instrument. */
export const climateRegisterSettingsSchema = z
  .strictObject(registerShape(climateRegisterDefaults))
  .superRefine(checkRegisters);
export type ClimateRegisterSettings = z.output<typeof climateRegisterSettingsSchema>;

export const climateModbusRegisters: DriverManifest<ClimateRegisterSettings> = {
  kind: 'climate',
  dialect: 'modbus-registers',
  title: 'Temperature, humidity and pressure of the chamber, in Modbus registers',
  serial: { baudRate: 9_600 },
  sharesLine: true,
  settings: climateRegisterSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createClimateRegisterCodec(settings).quantities, pollRhythm(settings)),
  identify: (settings) => identifyModbus(settings, createClimateRegisterCodec(settings).requests[0]),
  wireLoad: (settings) => modbusLoad(createClimateRegisterCodec(settings).requests, settings.intervalSeconds),
  open: openClimateRegisters,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
