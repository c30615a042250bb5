import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { answerSetLine } from '../../simulation/set-line.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createTreadmillCodec } from './codec.ts';
import type { TreadmillSettings } from './manifest.ts';

export interface TreadmillWorld {
  /** `speed` km/h, `incline` percent, at this moment. */
  readTreadmill(): ReadonlyMap<string, number>;
  /** The belt is set, km/h. */
  setSpeed(kilometresPerHour: number): void;
  readonly intervalMicroseconds: number;
}

/** A treadmill that refuses more than `settings.highestSpeed`. */
export function createTreadmillSimulator(
  settings: TreadmillSettings,
  context: SimulatorContext,
  world: TreadmillWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createTreadmillCodec(settings),
    read: () => world.readTreadmill(),
    intervalMicroseconds: world.intervalMicroseconds,
    command: answerSetLine(settings, {
      highest: settings.highestSpeed,
      set: (speed) => {
        world.setSpeed(speed);
      },
      unit: 'km/h',
    }),
  });
}
