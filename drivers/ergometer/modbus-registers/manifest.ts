import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyModbus, modbusLoad } from '../../framing/identify.ts';
import { pollRhythm } from '../../framing/modbus-poll.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import {
  checkRegisters,
  outputPlaceProblem,
  registerPlaceSchema,
  registerShape,
} from '../../framing/register-table.ts';
import { registersOf } from '../../framing/register-value.ts';
import { createErgometerRegisterCodec, ergometerRegisterDefaults } from './codec.ts';
import { openErgometerRegisters } from './driver.ts';

/** Settings of an ergometer with registers; the defaults are the map of our virtual instrument. */
export const ergometerRegisterSettingsSchema = z
  .strictObject({
    ...registerShape(ergometerRegisterDefaults),
    /** The holding register that sets the power, W. Default register 0, `uint16`. */
    setPower: registerPlaceSchema
      .omit({ table: true })
      .default({ register: 0, type: 'uint16', scale: 1, offset: 0 }),
    /** Most that may be asked of a subject on this ergometer, W, 1 to 1000. Default 300. */
    highestPower: z.number().int().min(1).max(1000).default(300),
    /** After how long without a word it brakes no more by itself, s, 0.1 to 60. Default null: never. */
    ownTimeoutSeconds: z.number().min(0.1).max(60).nullable().default(null),
  })
  .superRefine((settings, context) => {
    checkRegisters(settings, context);
    const { highestPower, setPower } = settings;
    const problem = (message: string): void => {
      context.addIssue({ code: 'custom', message, path: ['setPower'] });
    };
    if (setPower.register + registersOf(setPower.type) > 0x1_0000) {
      problem('a number of two registers begins at 65534 at the latest');
    }
    const unfit = outputPlaceProblem({ ...setPower, table: 'holding' }, { high: highestPower, restValue: 0 });
    if (unfit !== null) problem(unfit);
  });
export type ErgometerRegisterSettings = z.output<typeof ergometerRegisterSettingsSchema>;

export const ergometerModbusRegisters: DriverManifest<ErgometerRegisterSettings> = {
  kind: 'ergometer',
  dialect: 'modbus-registers',
  title: 'Cycle ergometer: power and cadence in Modbus registers, power set by one',
  serial: { baudRate: 9_600 },
  sharesLine: true,
  settings: ergometerRegisterSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createErgometerRegisterCodec(settings).quantities, pollRhythm(settings)),
  ownTimeoutSeconds: (settings) => settings.ownTimeoutSeconds,
  identify: (settings) => identifyModbus(settings, createErgometerRegisterCodec(settings).requests[0]),
  wireLoad: (settings) => modbusLoad(createErgometerRegisterCodec(settings).requests, settings.intervalSeconds),
  open: openErgometerRegisters,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
