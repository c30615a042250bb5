import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createBreathCodec } from './codec.ts';
import type { BreathSettings } from './manifest.ts';

export interface BreathWorld {
  /** `tidal-volume` L, `breathing-frequency` /min, `ventilation` L/min of the breath that has just ended. */
  readBreath(): ReadonlyMap<string, number>;
  /** From breath to breath, µs, > 0. */
  readonly intervalMicroseconds: number;
}

export function createBreathSimulator(
  settings: BreathSettings,
  context: SimulatorContext,
  world: BreathWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createBreathCodec(settings),
    read: () => world.readBreath(),
    intervalMicroseconds: world.intervalMicroseconds,
  });
}
