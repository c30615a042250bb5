import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Of one breath. */
export const breathQuantities: readonly Quantity[] = [
  { stream: 'tidal-volume', unit: 'L', resolution: 0.001, plausibleLow: 0.05, plausibleHigh: 6 },
  { stream: 'breathing-frequency', unit: 'per-minute', resolution: 0.1, plausibleLow: 2, plausibleHigh: 100 },
  { stream: 'ventilation', unit: 'L/min', resolution: 0.1, plausibleLow: 1, plausibleHigh: 300 },
];

/** The line of our virtual instrument, one a breath. */
export const breathLineDefaults: ValueLineDefaults = {
  quantities: breathQuantities,
  line: 'breath {tidal-volume} L {breathing-frequency} /min {ventilation} L/min *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: null,
  silenceLimitSeconds: 30,
};

export const createBreathCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, breathQuantities);
