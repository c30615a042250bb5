import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { unitNames } from '../../../src/model/unit.ts';
import { identifyModbus, modbusLoad } from '../../framing/identify.ts';
import { pollRhythm } from '../../framing/modbus-poll.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { checkRegisters, registerShape } from '../../framing/register-table.ts';
import { createPhotometerRegisterCodec, photometerRegisterDefaults } from './codec.ts';
import { openPhotometerRegisters } from './driver.ts';

/** Settings of a photometer with registers; the defaults are the map of our virtual instrument. */
export const photometerRegisterSettingsSchema = z
  .strictObject({
    ...registerShape(photometerRegisterDefaults),
    /** Unit of the value in the registers, and of the stream. Default mg/m3. */
    unit: z.enum(unitNames).default('mg/m3'),
    /** Smallest step worth showing, in `unit`. Default 0.00001. */
    resolution: z.number().positive().default(0.000_01),
  })
  .superRefine(checkRegisters);
export type PhotometerRegisterSettings = z.output<typeof photometerRegisterSettingsSchema>;

export const photometerModbusRegisters: DriverManifest<PhotometerRegisterSettings> = {
  kind: 'photometer',
  dialect: 'modbus-registers',
  title: 'Aerosol photometer with its concentration in Modbus registers',
  serial: { baudRate: 19_200 },
  sharesLine: true,
  settings: photometerRegisterSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createPhotometerRegisterCodec(settings).quantities, pollRhythm(settings)),
  identify: (settings) => identifyModbus(settings, createPhotometerRegisterCodec(settings).requests[0]),
  wireLoad: (settings) => modbusLoad(createPhotometerRegisterCodec(settings).requests, settings.intervalSeconds),
  open: openPhotometerRegisters,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
