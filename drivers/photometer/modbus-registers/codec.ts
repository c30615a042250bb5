import type { Quantity } from '../../framing/quantity.ts';
import { createRegisterCodec } from '../../framing/register-table.ts';
import type { RegisterCodec, RegisterDefaults } from '../../framing/register-table.ts';
import type { PhotometerRegisterSettings } from './manifest.ts';

/** What is delivered, in the unit and with the resolution of the settings. */
export const photometerQuantities = (
  settings: Pick<PhotometerRegisterSettings, 'unit' | 'resolution'>,
): readonly Quantity[] => [
  {
    stream: 'concentration',
    unit: settings.unit,
    resolution: settings.resolution,
    plausibleLow: null,
    plausibleHigh: null,
  },
];

/** The map of our virtual instrument: a float32 in input registers 0 and 1, its status in 2. */
export const photometerRegisterDefaults: RegisterDefaults = {
  quantities: photometerQuantities({ unit: 'mg/m3', resolution: 0.000_01 }),
  places: { concentration: { table: 'input', register: 0, type: 'float32', scale: 1, offset: 0 } },
  status: { table: 'input', register: 2, good: [0] },
  intervalSeconds: 0.1,
  silenceLimitSeconds: 2,
};

export const createPhotometerRegisterCodec = (settings: PhotometerRegisterSettings): RegisterCodec =>
  createRegisterCodec(settings, photometerQuantities(settings));
