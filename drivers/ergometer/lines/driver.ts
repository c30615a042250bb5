import type { DriverContext, DriverSession } from '../../../src/device/driver.ts';
import { openValueLines } from '../../framing/value-line-driver.ts';
import { createErgometerCodec, ergometerQuantities } from './codec.ts';
import type { ErgometerSettings } from './manifest.ts';

/** Listens to an ergometer and sets its power, which counts when the ergometer has said it again. */
export function openErgometer(context: DriverContext<ErgometerSettings>): DriverSession {
  const { settings } = context;
  const power = {
    output: 'power',
    unit: 'W',
    low: 0,
    high: settings.highestPower,
    restValue: 0,
    command: settings.command,
    acknowledge: settings.acknowledge,
    decimals: 0,
  } as const;
  return openValueLines({
    context,
    codec: createErgometerCodec(settings),
    quantities: ergometerQuantities,
    outputs: { outputs: [power], refusal: settings.refusal, timeoutSeconds: settings.acknowledgeTimeoutSeconds },
  });
}
