import type { Simulator, SimulatorContext } from '../../../src/device/simulator.ts';
import type { Cancel } from '../../../src/device/timers.ts';
import { createFaultyWire } from '../../simulation/faulty-wire.ts';
import { everyInterval } from '../../simulation/grid.ts';
import { encodePayload, formatHex, mostRrIntervals } from './codec.ts';
import type { HeartRateSettings } from './manifest.ts';

export interface HeartRateWorld {
  /** Per minute, at this moment. */
  heartRate(): number;
  /** Completed since the last call, oldest first, ms. */
  takeRrIntervals(): number[];
  /** Does the belt touch the body? */
  contact(): boolean;
  /** Between two payloads, µs, > 0. */
  readonly intervalMicroseconds: number;
}

/**
 * A belt with its receiver: one payload each interval from `start` on. RR intervals that do not fit into one
 * notification follow in the next; those that complete without contact are lost.
 */
export function createHeartRateSimulator(
  settings: HeartRateSettings,
  context: SimulatorContext,
  world: HeartRateWorld,
): Simulator {
  const wire = createFaultyWire({ context, delimiter: settings.terminator });
  let cancelSending: Cancel | undefined;
  let intervals: number[] = [];

  const send = (): void => {
    const contact = world.contact();
    intervals.push(...world.takeRrIntervals());
    if (!contact) intervals = [];
    const payload = encodePayload({
      heartRate: world.heartRate(),
      contact: contact ? 'detected' : 'lost',
      energyKilojoules: undefined,
      rrIntervalsMilliseconds: intervals.splice(0, mostRrIntervals),
    });
    wire.sendLine(formatHex(payload));
  };

  return {
    start() {
      cancelSending ??= everyInterval(context.timers, world.intervalMicroseconds, send);
    },
    stop() {
      cancelSending?.();
      cancelSending = undefined;
      intervals = [];
      wire.stop();
    },
    receive() {
      // The receiver only speaks.
    },
    inject(fault) {
      wire.inject(fault);
    },
  };
}
