import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Of a cycle ergometer. */
export const ergometerQuantities: readonly Quantity[] = [
  { stream: 'power', unit: 'W', resolution: 1, plausibleLow: 0, plausibleHigh: 1000 },
  { stream: 'cadence', unit: 'per-minute', resolution: 1, plausibleLow: 0, plausibleHigh: 200 },
];

/** The line of our virtual instrument. */
export const ergometerLineDefaults: ValueLineDefaults = {
  quantities: ergometerQuantities,
  line: 'ergo {power} W {cadence} /min {status} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 1,
  silenceLimitSeconds: 5,
};

export const createErgometerCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, ergometerQuantities);
