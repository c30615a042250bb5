import type { Quantity } from '../../framing/quantity.ts';
import { createRegisterCodec } from '../../framing/register-table.ts';
import type { RegisterCodec, RegisterDefaults, RegisterSettings } from '../../framing/register-table.ts';

/** Of an ensemble with a fan unit. Limits are those of instruments, not of what a subject can bear. */
export const pressureFlowQuantities: readonly Quantity[] = [
  { stream: 'ensemble-pressure', unit: 'Pa', resolution: 1, plausibleLow: -1000, plausibleHigh: 3000 },
  { stream: 'fan-flow', unit: 'L/min', resolution: 1, plausibleLow: 0, plausibleHigh: 1000 },
  { stream: 'carbon-dioxide', unit: 'percent', resolution: 0.01, plausibleLow: 0, plausibleHigh: 10 },
];

/** The map of our virtual instrument: three input registers. */
export const pressureFlowRegisterDefaults: RegisterDefaults = {
  quantities: pressureFlowQuantities,
  places: {
    'ensemble-pressure': { table: 'input', register: 0, type: 'int16', scale: 1, offset: 0 },
    'fan-flow': { table: 'input', register: 1, type: 'uint16', scale: 1, offset: 0 },
    'carbon-dioxide': { table: 'input', register: 2, type: 'uint16', scale: 0.01, offset: 0 },
  },
  status: null,
  intervalSeconds: 0.2,
  silenceLimitSeconds: 3,
};

export const createPressureFlowRegisterCodec = (settings: RegisterSettings): RegisterCodec =>
  createRegisterCodec(settings, pressureFlowQuantities);
