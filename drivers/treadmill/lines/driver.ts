import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { createTreadmillCodec, treadmillQuantities } from './codec.ts';
import type { TreadmillSettings } from './manifest.ts';

/** Listens to a treadmill and sets the speed of its belt, which counts when the treadmill has said it again. */
export function openTreadmill(context: DriverContext<TreadmillSettings>): DriverSession {
  const { settings } = context;
  const speed = {
    output: 'speed',
    unit: 'km/h',
    low: 0,
    high: settings.highestSpeed,
    restValue: 0,
    command: settings.command,
    acknowledge: settings.acknowledge,
    decimals: 1,
  } as const;
  return openValueLines({
    context,
    codec: createTreadmillCodec(settings),
    quantities: treadmillQuantities,
    outputs: { outputs: [speed], refusal: settings.refusal, timeoutSeconds: settings.acknowledgeTimeoutSeconds },
  });
}
