import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Of an ensemble with a fan unit. Limits are those of instruments, not of what a subject can bear. */
export const pressureFlowQuantities: readonly Quantity[] = [
  { stream: 'ensemble-pressure', unit: 'Pa', resolution: 0.1, plausibleLow: -1000, plausibleHigh: 3000 },
  { stream: 'fan-flow', unit: 'L/min', resolution: 0.1, plausibleLow: 0, plausibleHigh: 1000 },
  { stream: 'carbon-dioxide', unit: 'percent', resolution: 0.01, plausibleLow: 0, plausibleHigh: 10 },
];

/** The line of our virtual instrument. */
export const pressureFlowLineDefaults: ValueLineDefaults = {
  quantities: pressureFlowQuantities,
  line: 'suit {ensemble-pressure} Pa {fan-flow} L/min {carbon-dioxide} % {status} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 0.2,
  silenceLimitSeconds: 3,
};

export const createPressureFlowCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, pressureFlowQuantities);
