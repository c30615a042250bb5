import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openModbusPoll } from '../../framing/modbus-poll.ts';
import { registerOutput } from '../../framing/register-table.ts';
import { createErgometerRegisterCodec } from './codec.ts';
import type { ErgometerRegisterSettings } from './manifest.ts';

/** Asks an ergometer for its registers and sets its power, which counts when the register that holds it says so. */
export function openErgometerRegisters(context: DriverContext<ErgometerRegisterSettings>): DriverSession {
  const { settings } = context;
  const { highestPower, setPower, wordOrder } = settings;
  const codec = createErgometerRegisterCodec(settings);
  const power = { output: 'power', unit: 'W', low: 0, high: highestPower, restValue: 0 } as const;
  return openModbusPoll({
    context,
    quantities: codec.quantities,
    requests: codec.requests,
    read: codec.read,
    outputs: [registerOutput(power, { ...setPower, table: 'holding' }, wordOrder)],
  });
}
