import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { contactRemarks, contactShape } from '../../framing/contact.ts';
import { modbusSettingsShape } from '../../framing/modbus-settings.ts';
import { identifyModbus, modbusLoad } from '../../framing/identify.ts';
import { describeQuantities } from '../../framing/quantity.ts';
import { createModbusContactCodec } from './codec.ts';
import { openModbusContacts } from './driver.ts';

const bit = z.number().int().min(0).max(0xffff);
const placeSchema = z.strictObject({ table: z.enum(['coils', 'discrete-inputs']), bit }).nullable();

/** Settings of contacts on a Modbus line; the defaults are the map of our virtual instrument. */
export const modbusContactSettingsSchema = z
  .strictObject({
    ...modbusSettingsShape,
    ...contactShape,
    /** Where each contact stands; a set bit is a closed contact. null: the instrument does not have it. */
    inputs: z
      .strictObject({
        /** Default discrete input 0. */
        stop: placeSchema.default({ table: 'discrete-inputs', bit: 0 }),
        /** Default none. */
        'foot-stop': placeSchema.default(null),
        /** Default discrete input 1. */
        door: placeSchema.default({ table: 'discrete-inputs', bit: 1 }),
      })
      .prefault({}),
    /** Coil of a lamp or horn; null (default): there is none. */
    beaconCoil: bit.nullable().default(null),
    /** Between two rounds of questions, s, 0.02 to 10; null: nothing is asked. Default 0.1. */
    intervalSeconds: z.number().min(0.02).max(10).nullable().default(0.1),
    /** No reading for longer than this is a problem, s. Default 1. */
    silenceLimitSeconds: z.number().positive().max(60).default(1),
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    const places = Object.values(settings.inputs).flatMap((place) => place ?? []);
    if (places.length === 0) problem('name at least one contact', 'inputs');
    const keys = places.map(({ table, bit: number }) => `${table} ${number}`);
    if (new Set(keys).size !== keys.length) problem('two contacts have the same bit', 'inputs');
    if (settings.beaconCoil !== null && keys.includes(`coils ${settings.beaconCoil}`)) {
      problem('is a contact that is read', 'beaconCoil');
    }
    if (settings.intervalSeconds !== null && settings.silenceLimitSeconds <= settings.intervalSeconds) {
      problem('must be longer than the interval', 'silenceLimitSeconds');
    }
  });
export type ModbusContactSettings = z.output<typeof modbusContactSettingsSchema>;

export const contactModbus: DriverManifest<ModbusContactSettings> = {
  kind: 'contact',
  dialect: 'modbus',
  title: 'Stop contacts, door and beacon, as Modbus coils and inputs',
  serial: { baudRate: 9_600 },
  sharesLine: true,
  settings: modbusContactSettingsSchema,
  streams: (instrument, settings) =>
    describeQuantities(instrument, createModbusContactCodec(settings).quantities, {
      ...settings,
      expectedIntervalSeconds: settings.intervalSeconds,
      plausible: {},
    }),
  remarks: (settings) => contactRemarks(settings, createModbusContactCodec(settings).quantities),
  identify: (settings) => identifyModbus(settings, createModbusContactCodec(settings).requests[0]),
  wireLoad: (settings) => modbusLoad(createModbusContactCodec(settings).requests, settings.intervalSeconds),
  open: openModbusContacts,
  listening: (settings) => ({ ...settings, intervalSeconds: null }),
};
