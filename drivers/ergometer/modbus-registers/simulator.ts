import type { SimulatorContext } from '../../../src/device/simulator.ts';
import { registerKey } from '../../framing/register-table.ts';
import { numberInRegisters, registersOf } from '../../framing/register-value.ts';
import type { ModbusDevice } from '../../simulation/modbus-device.ts';
import { createRegisterDevice } from '../../simulation/register-device.ts';
import type { ErgometerWorld } from '../lines/simulator.ts';
import { createErgometerRegisterCodec } from './codec.ts';
import type { ErgometerRegisterSettings } from './manifest.ts';

/** An ergometer that keeps what was written, and brakes by it once all of its registers are there. */
export function createErgometerRegisterSimulator(
  settings: ErgometerRegisterSettings,
  context: SimulatorContext,
  world: Omit<ErgometerWorld, 'intervalMicroseconds'>,
): ModbusDevice {
  const codec = createErgometerRegisterCodec(settings);
  const { highestPower, setPower, wordOrder } = settings;
  const places = Array.from({ length: registersOf(setPower.type) }, (_, word) => setPower.register + word);
  const held = new Map<number, number>(places.map((register) => [register, 0]));
  const wanted = (words: readonly number[]): number =>
    numberInRegisters(words, setPower.type, wordOrder) * setPower.scale + setPower.offset;
  return createRegisterDevice({
    settings,
    context,
    registers: () => {
      const registers = new Map(codec.write(world.readErgometer()));
      for (const [register, value] of held) registers.set(registerKey('holding', register), value);
      return registers;
    },
    write(register, value) {
      if (!held.has(register)) return false;
      const words = places.map((place) => (place === register ? value : (held.get(place) ?? 0)));
      const watts = wanted(words);
      if (register === places.at(-1) && !(watts >= 0 && watts <= highestPower)) return false;
      held.set(register, value);
      if (register === places.at(-1)) world.setPower(watts);
      return true;
    },
  });
}
