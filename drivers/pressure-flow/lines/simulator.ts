import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createPressureFlowCodec } from './codec.ts';
import type { PressureFlowSettings } from './manifest.ts';

export interface PressureFlowWorld {
  /** `ensemble-pressure` Pa, `fan-flow` L/min, `carbon-dioxide` %, at this moment. */
  readPressureFlow(): ReadonlyMap<string, number>;
  /** Between two lines of an instrument that prints on its own, µs, > 0. */
  readonly intervalMicroseconds: number;
}

export function createPressureFlowSimulator(
  settings: PressureFlowSettings,
  context: SimulatorContext,
  world: PressureFlowWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createPressureFlowCodec(settings),
    read: () => world.readPressureFlow(),
    intervalMicroseconds: world.intervalMicroseconds,
  });
}
