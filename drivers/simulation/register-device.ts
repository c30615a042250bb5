import type { SimulatorContext } from '../../src/device/simulator.ts';
import type { ModbusAnswer, ModbusRequest } from '../framing/modbus-rtu.ts';
import type { ModbusSettings } from '../framing/modbus-settings.ts';
import { registerKey } from '../framing/register-table.ts';
import { createModbusDevice } from './modbus-device.ts';
import type { ModbusDevice } from './modbus-device.ts';

export interface RegisterDeviceOptions {
  readonly settings: Pick<ModbusSettings, 'address' | 'silenceMilliseconds'>;
  readonly context: SimulatorContext;
  /** What its registers hold at this moment, by `registerKey`. Called once for each request. */
  readonly registers: () => ReadonlyMap<string, number>;
  /** A holding register was written; false: it cannot be (exception 2). */
  readonly write?: (register: number, value: number) => boolean;
}

const illegalFunction: ModbusAnswer = { answer: 'exception', exception: 1 };
const illegalAddress: ModbusAnswer = { answer: 'exception', exception: 2 };

/** A slave with registers: what it does not have is exception 2, what it does not speak is exception 1. */
export function createRegisterDevice(options: RegisterDeviceOptions): ModbusDevice {
  const respond = (request: ModbusRequest): ModbusAnswer => {
    switch (request.function) {
      case 3:
      case 4: {
        const table = request.function === 4 ? 'input' : 'holding';
        const present = options.registers();
        const registers: number[] = [];
        for (let index = 0; index < request.count; index += 1) {
          const value = present.get(registerKey(table, request.start + index));
          if (value === undefined) return illegalAddress;
          registers.push(value);
        }
        return { answer: 'registers', registers };
      }
      case 6:
        return options.write?.(request.register, request.value) === true ? { answer: 'written' } : illegalAddress;
      case 16: {
        const { write } = options;
        if (write === undefined) return illegalAddress;
        return request.registers.every((value, index) => write(request.start + index, value))
          ? { answer: 'written' }
          : illegalAddress;
      }
      default:
        return illegalFunction;
    }
  };
  return createModbusDevice({ settings: options.settings, context: options.context, respond });
}
