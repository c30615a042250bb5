import type { Quantity } from '../../framing/quantity.ts';
import { createValueLineCodec } from '../../framing/value-line.ts';
import type { ValueLineCodec, ValueLineDefaults, ValueLineSettings } from '../../framing/value-line.ts';

/** Of the chamber's air. Limits are those of instruments, not of methods: outside, something is wrong with it. */
export const climateQuantities: readonly Quantity[] = [
  { stream: 'temperature', unit: 'degC', resolution: 0.01, plausibleLow: -20, plausibleHigh: 60 },
  { stream: 'humidity', unit: 'percent', resolution: 0.01, plausibleLow: 0, plausibleHigh: 100 },
  { stream: 'pressure', unit: 'hPa', resolution: 0.1, plausibleLow: 700, plausibleHigh: 1100 },
];

/** The line of our virtual instrument. */
export const climateLineDefaults: ValueLineDefaults = {
  quantities: climateQuantities,
  line: 'climate {temperature} C {humidity} % {pressure} hPa {status} *{checksum}',
  checksum: 'xor-hex',
  expectedIntervalSeconds: 1,
  silenceLimitSeconds: 5,
};

export const createClimateCodec = (settings: ValueLineSettings): ValueLineCodec =>
  createValueLineCodec(settings, climateQuantities);
