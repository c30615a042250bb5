import type { Scenario } from '../scenario.ts';
import { demo } from './demo.ts';

const dilutions = [1, 1, 2, 5, 20];
const penetrations = [0.985, 0.98, 0.975, 0.968, 0.96];

/**
 * The demo rig with everything that a correction exists for, large enough that its absence shows: unequal dilution
 * and losses, background, spatial factor, zero and span drift, and a challenge that falls with the span.
 */
export const sharp: Scenario = {
  ...demo,
  name: 'sharp',
  title: 'Acceptance: every correction counts',
  rig: {
    ...demo.rig,
    name: 'Virtual chamber with diluted ports',
    spatialFactor: { value: 0.96, standardUncertainty: 0.0096 },
    ports: demo.rig.ports.map((port, index) => {
      const dilution = dilutions[index];
      const penetration = penetrations[index];
      if (dilution === undefined || penetration === undefined) return port;
      return {
        ...port,
        dilution: { value: dilution, standardUncertainty: 0.01 * dilution },
        penetration: { value: penetration, standardUncertainty: 0.003 },
      };
    }),
  },
  // About − 3 % from the first reading to the last.
  chamber: { ...demo.chamber, driftPercentPerHour: -6.2 },
  ensemble: {
    ...demo.ensemble,
    zones: demo.ensemble.zones.map((zone) => ({ ...zone, backgroundPercent: 0.01 })),
  },
  photometer: {
    ...demo.photometer,
    zeroDrift: { ...demo.photometer.zeroDrift, linearPercentPerHour: 2, smoothPercentPerHour: 0 },
    spanDrift: { ...demo.photometer.spanDrift, linearPercentPerHour: -3, smoothPercentPerHour: 0 },
  },
};
