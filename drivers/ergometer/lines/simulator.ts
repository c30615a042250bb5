import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import { answerSetLine } from '../../simulation/set-line.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createErgometerCodec } from './codec.ts';
import type { ErgometerSettings } from './manifest.ts';

export interface ErgometerWorld {
  /** `power` W, `cadence` per minute, at this moment. */
  readErgometer(): ReadonlyMap<string, number>;
  /** The brake is set, W. */
  setPower(watts: number): void;
  readonly intervalMicroseconds: number;
}

/** An ergometer that refuses more than `settings.highestPower`. */
export function createErgometerSimulator(
  settings: ErgometerSettings,
  context: SimulatorContext,
  world: ErgometerWorld,
): Simulator {
  return createValueLineInstrument({
    settings,
    context,
    codec: createErgometerCodec(settings),
    read: () => world.readErgometer(),
    intervalMicroseconds: world.intervalMicroseconds,
    command: answerSetLine(settings, {
      highest: settings.highestPower,
      set: (watts) => {
        world.setPower(watts);
      },
      unit: 'W',
    }),
  });
}
