import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Flow at the mouth; into the subject is positive. */
export const flowQuantities: readonly Quantity[] = [
  { stream: 'flow', unit: 'L/min', resolution: 0.1, plausibleLow: -600, plausibleHigh: 600 },
];

/** The line of our virtual instrument, a hundred times a second. */
export const flowLineDefaults: ValueLineDefaults = {
  quantities: flowQuantities,
  line: 'q {flow} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 0.01,
  silenceLimitSeconds: 1,
};

export const createFlowCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, flowQuantities);
