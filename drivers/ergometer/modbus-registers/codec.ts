import { createRegisterCodec } from '../../framing/register-table.ts';
import type { RegisterCodec, RegisterDefaults, RegisterSettings } from '../../framing/register-table.ts';
import { ergometerQuantities } from '../lines/codec.ts';

/** The map of our virtual instrument: whole watts and turns, in two input registers. */
export const ergometerRegisterDefaults: RegisterDefaults = {
  quantities: ergometerQuantities,
  places: {
    power: { table: 'input', register: 0, type: 'uint16', scale: 1, offset: 0 },
    cadence: { table: 'input', register: 1, type: 'uint16', scale: 1, offset: 0 },
  },
  status: null,
  intervalSeconds: 1,
  silenceLimitSeconds: 5,
};

export const createErgometerRegisterCodec = (settings: RegisterSettings): RegisterCodec =>
  createRegisterCodec(settings, ergometerQuantities);
