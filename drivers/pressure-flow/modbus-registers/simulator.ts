import type { SimulatorContext } from '../../../src/device/simulator.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { createRegisterDevice } from '../../simulation/register-device.ts';
import { createPressureFlowRegisterCodec } from './codec.ts';
import type { PressureFlowRegisterSettings } from './manifest.ts';

export interface PressureFlowRegisterWorld {
  /** `ensemble-pressure` Pa, `fan-flow` L/min, `carbon-dioxide` %, at this moment. */
  readPressureFlow(): ReadonlyMap<string, number>;
}

export function createPressureFlowRegisterSimulator(
  settings: PressureFlowRegisterSettings,
  context: SimulatorContext,
  world: PressureFlowRegisterWorld,
): ModbusDevice {
  const codec = createPressureFlowRegisterCodec(settings);
  return createRegisterDevice({ settings, context, registers: () => codec.write(world.readPressureFlow()) });
}
