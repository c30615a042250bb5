import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openModbusPoll } from '../../framing/modbus-poll.ts';
import { createPhotometerRegisterCodec } from './codec.ts';
import type { PhotometerRegisterSettings } from './manifest.ts';

/** Asks a photometer for its registers. A status that is not good gives a problem and never a reading. */
export function openPhotometerRegisters(context: DriverContext<PhotometerRegisterSettings>): DriverSession {
  const codec = createPhotometerRegisterCodec(context.settings);
  return openModbusPoll({ context, quantities: codec.quantities, requests: codec.requests, read: codec.read });
}
