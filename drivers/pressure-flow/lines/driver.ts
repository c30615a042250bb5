import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { pressureFlowQuantities, createPressureFlowCodec } from './codec.ts';
import type { PressureFlowSettings } from './manifest.ts';

/** Listens to what an ensemble does, or asks for it. */
export function openPressureFlow(context: DriverContext<PressureFlowSettings>): DriverSession {
  const codec = createPressureFlowCodec(context.settings);
  return openValueLines({ context, codec, quantities: pressureFlowQuantities });
}
