import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openModbusPoll } from '../../framing/modbus-poll.ts';
import { createClimateRegisterCodec } from './codec.ts';
import type { ClimateRegisterSettings } from './manifest.ts';

/** Asks a climate instrument for its registers. */
export function openClimateRegisters(context: DriverContext<ClimateRegisterSettings>): DriverSession {
  const codec = createClimateRegisterCodec(context.settings);
  return openModbusPoll({ context, quantities: codec.quantities, requests: codec.requests, read: codec.read });
}
