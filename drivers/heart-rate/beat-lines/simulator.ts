import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { createValueLineInstrument } from '../../simulation/value-line-instrument.ts';
import { createBeatCodec } from './codec.ts';
import type { BeatSettings } from './manifest.ts';

export interface BeatWorld {
  /** From the last beat to the next, ms, > 0. Called at each beat. */
  nextInterval(): number;
}

/** A receiver that prints the interval that a beat has ended, at the beat. */
export function createBeatSimulator(settings: BeatSettings, context: SimulatorContext, world: BeatWorld): Simulator {
  let interval = 0;
  let cancelBeat: Cancel | undefined;
  const instrument = createValueLineInstrument({
    settings,
    context,
    codec: createBeatCodec(settings),
    read: () => new Map([['rr-interval', interval]]),
    intervalMicroseconds: null,
  });
  const beat = (): void => {
    interval = world.nextInterval();
    cancelBeat = context.timers.after(Math.round(interval * 1000), () => {
      instrument.print();
      beat();
    });
  };
  return {
    start() {
      instrument.start();
      if (cancelBeat === undefined) beat();
    },
    stop() {
      cancelBeat?.();
      cancelBeat = undefined;
      instrument.stop();
    },
    receive: instrument.receive,
    inject: instrument.inject,
  };
}
