import type { SimulatorContext } from '../../../src/device/simulator.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { createRegisterDevice } from '../../simulation/register-device.ts';
import { createClimateRegisterCodec } from './codec.ts';
import type { ClimateRegisterSettings } from './manifest.ts';

export interface ClimateRegisterWorld {
  /** `temperature` °C, `humidity` %, `pressure` hPa, at this moment. */
  readClimate(): ReadonlyMap<string, number>;
}

export function createClimateRegisterSimulator(
  settings: ClimateRegisterSettings,
  context: SimulatorContext,
  world: ClimateRegisterWorld,
): ModbusDevice {
  const codec = createClimateRegisterCodec(settings);
  return createRegisterDevice({ settings, context, registers: () => codec.write(world.readClimate()) });
}
