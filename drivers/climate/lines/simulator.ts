import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createClimateCodec } from './codec.ts';
import type { ClimateSettings } from './manifest.ts';

export interface ClimateWorld {
  /** `temperature` °C, `humidity` %, `pressure` hPa, at this moment. */
  readClimate(): ReadonlyMap<string, number>;
  /** Between two lines of an instrument that prints on its own, µs, > 0. */
  readonly intervalMicroseconds: number;
}

export function createClimateSimulator(
  settings: ClimateSettings,
  context: SimulatorContext,
  world: ClimateWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createClimateCodec(settings),
    read: () => world.readClimate(),
    intervalMicroseconds: world.intervalMicroseconds,
  });
}
