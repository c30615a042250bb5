import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Of a treadmill. A belt that runs backwards reads below zero, and so does one that leans downhill. */
export const treadmillQuantities: readonly Quantity[] = [
  { stream: 'speed', unit: 'km/h', resolution: 0.1, plausibleLow: -10, plausibleHigh: 30 },
  { stream: 'incline', unit: 'percent', resolution: 0.1, plausibleLow: -15, plausibleHigh: 40 },
];

/** The line of our virtual instrument. */
export const treadmillLineDefaults: ValueLineDefaults = {
  quantities: treadmillQuantities,
  line: 'belt {speed} km/h {incline} % {status} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 1,
  silenceLimitSeconds: 5,
};

export const createTreadmillCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, treadmillQuantities);
