import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openModbusPoll } from '../../framing/modbus-poll.ts';
import { createPressureFlowRegisterCodec } from './codec.ts';
import type { PressureFlowRegisterSettings } from './manifest.ts';

/** Asks an instrument at the ensemble for its registers. */
export function openPressureFlowRegisters(context: DriverContext<PressureFlowRegisterSettings>): DriverSession {
  const codec = createPressureFlowRegisterCodec(context.settings);
  return openModbusPoll({ context, quantities: codec.quantities, requests: codec.requests, read: codec.read });
}
