import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { breathQuantities, createBreathCodec } from './codec.ts';
import type { BreathSettings } from './manifest.ts';

/** Listens to an instrument that sums up each breath. */
export function openBreaths(context: DriverContext<BreathSettings>): DriverSession {
  return openValueLines({ context, codec: createBreathCodec(context.settings), quantities: breathQuantities });
}
