import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { createFlowCodec, flowQuantities } from './codec.ts';
import type { BreathingFlowSettings } from './manifest.ts';

/** Listens to the flow of breath. */
export function openBreathingFlow(context: DriverContext<BreathingFlowSettings>): DriverSession {
  return openValueLines({ context, codec: createFlowCodec(context.settings), quantities: flowQuantities });
}
