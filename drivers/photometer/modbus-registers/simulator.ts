import type { SimulatorContext } from '../../../src/device/simulator.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { createRegisterDevice } from '../../simulation/register-device.ts';
import { createPhotometerRegisterCodec } from './codec.ts';
import type { PhotometerRegisterSettings } from './manifest.ts';

export interface PhotometerRegisterWorld {
  /** What the photometer shows at this moment, in `settings.unit`. Called once for each request. */
  readConcentration(): number;
}

export function createPhotometerRegisterSimulator(
  settings: PhotometerRegisterSettings,
  context: SimulatorContext,
  world: PhotometerRegisterWorld,
): ModbusDevice {
  const codec = createPhotometerRegisterCodec(settings);
  return createRegisterDevice({
    settings,
    context,
    registers: () => codec.write(new Map([['concentration', world.readConcentration()]])),
  });
}
