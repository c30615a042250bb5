import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { climateQuantities, createClimateCodec } from './codec.ts';
import type { ClimateSettings } from './manifest.ts';

/** Listens to the chamber's climate, or asks for it. */
export function openClimate(context: DriverContext<ClimateSettings>): DriverSession {
  return openValueLines({ context, codec: createClimateCodec(context.settings), quantities: climateQuantities });
}
