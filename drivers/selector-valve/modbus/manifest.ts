import { z } from 'zod';
import type { DriverManifest } from '../../../src/device/driver.ts';
import { identifyModbus } from '../../framing/identify.ts';
import { modbusSettingsShape } from '../../framing/modbus-settings.ts';
import { createModbusValveCodec } from './codec.ts';
import { openModbusValve } from './driver.ts';

const number = z.number().int().min(0).max(0xffff);

/** Settings of a selector valve on a Modbus line; the defaults are the map of our virtual valve. */
export const modbusValveSettingsSchema = z
  .strictObject({
    ...modbusSettingsShape,
    /** What moves it: a holding register that takes the port (default: register 0), or one coil for each port. */
    select: z
      .discriminatedUnion('by', [
        z.strictObject({ by: z.literal('register'), register: number }),
        z.strictObject({ by: z.literal('coils'), coil: number }),
      ])
      .default({ by: 'register', register: 0 }),
    /** Where it says at which port it stands: one register, or one bit for each port. Default: input register 0. */
    position: z
      .strictObject({
        table: z.enum(['coils', 'discrete-inputs', 'holding-registers', 'input-registers']),
        start: number,
      })
      .default({ table: 'input-registers', start: 0 }),
    /** Ports that the valve has, numbered from 1: 2 to 32. Default 8. */
    ports: z.number().int().min(2).max(32).default(8),
    /** What stands in a register for port 1; the others follow. Default 1. */
    firstValue: z.number().int().min(0).max(1000).default(1),
    /** What stands in the position register while it is at no port. Default 0. */
    betweenValue: number.default(0),
    /** Between two looks at the position while it moves, s, 0.01 to 1. Default 0.05. */
    lookSeconds: z.number().min(0.01).max(1).default(0.05),
    /** From the command to the confirmed position, s, 0.05 to 60. Default 3. */
    confirmTimeoutSeconds: z.number().min(0.05).max(60).default(3),
  })
  .superRefine((settings, context) => {
    const problem = (message: string, field: string): void => {
      context.addIssue({ code: 'custom', message, path: [field] });
    };
    const { select, position, ports, firstValue, betweenValue } = settings;
    if (select.by === 'coils' && position.table === 'coils' && select.coil === position.start) {
      problem('the coils that are switched say what was asked for, not where the valve stands', 'position');
    }
    if (select.by === 'register' && position.table === 'holding-registers' && select.register === position.start) {
      problem('the register that is written says what was asked for, not where the valve stands', 'position');
    }
    if (betweenValue >= firstValue && betweenValue < firstValue + ports) problem('is a port', 'betweenValue');
    for (const [field, first, count] of [
      ['select', select.by === 'coils' ? select.coil : select.register, select.by === 'coils' ? ports : 1],
      ['position', position.start, position.table.endsWith('registers') ? 1 : ports],
    ] as const) {
      if (first + count > 0x1_0000) problem('the addresses end at 65535', field);
    }
  });
export type ModbusValveSettings = z.output<typeof modbusValveSettingsSchema>;

export const selectorValveModbus: DriverManifest<ModbusValveSettings> = {
  kind: 'selector-valve',
  dialect: 'modbus',
  title: 'Selector valve on a Modbus line that says where it stands',
  serial: { baudRate: 9_600 },
  sharesLine: true,
  settings: modbusValveSettingsSchema,
  streams: () => [],
  identify: (settings) => identifyModbus(settings, createModbusValveCodec(settings).position),
  open: openModbusValve,
};
