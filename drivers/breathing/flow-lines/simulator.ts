import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createFlowCodec } from './codec.ts';
import type { BreathingFlowSettings } from './manifest.ts';

export interface BreathingFlowWorld {
  /** Into the subject is positive, L/min, at this moment. */
  readFlow(): number;
  /** Between two lines, µs, > 0. */
  readonly intervalMicroseconds: number;
}

export function createBreathingFlowSimulator(
  settings: BreathingFlowSettings,
  context: SimulatorContext,
  world: BreathingFlowWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createFlowCodec(settings),
    read: () => new Map([['flow', world.readFlow()]]),
    intervalMicroseconds: world.intervalMicroseconds,
  });
}
