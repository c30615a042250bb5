import type { Quantity } from '../../framing/quantity.ts';
import { createRegisterCodec } from '../../framing/register-table.ts';
import type { RegisterCodec, RegisterDefaults, RegisterSettings } from '../../framing/register-table.ts';

/** Of the chamber's air. Limits are those of instruments, not of methods: outside, something is wrong with it. */
export const climateQuantities: readonly Quantity[] = [
  { stream: 'temperature', unit: 'degC', resolution: 0.1, plausibleLow: -20, plausibleHigh: 60 },
  { stream: 'humidity', unit: 'percent', resolution: 0.1, plausibleLow: 0, plausibleHigh: 100 },
  { stream: 'pressure', unit: 'hPa', resolution: 0.1, plausibleLow: 700, plausibleHigh: 1100 },
];

/** The map of our virtual instrument: tenths, in three input registers. */
export const climateRegisterDefaults: RegisterDefaults = {
  quantities: climateQuantities,
  places: {
    temperature: { table: 'input', register: 0, type: 'int16', scale: 0.1, offset: 0 },
    humidity: { table: 'input', register: 1, type: 'uint16', scale: 0.1, offset: 0 },
    pressure: { table: 'input', register: 2, type: 'uint16', scale: 0.1, offset: 0 },
  },
  status: null,
  intervalSeconds: 1,
  silenceLimitSeconds: 5,
};

export const createClimateRegisterCodec = (settings: RegisterSettings): RegisterCodec =>
  createRegisterCodec(settings, climateQuantities);
