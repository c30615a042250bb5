import type { TrialInputs } from '../trial-inputs.ts';
import type { LineFreedom } from './uncertainty.ts';

/** Degrees of freedom of the lines of a trial: of the scatter that each was estimated from. */
export function freedomOf({ blank, scatter }: TrialInputs): LineFreedom {
  const ofNoise = blank?.degreesOfFreedom ?? Number.POSITIVE_INFINITY;
  const stated = Number.POSITIVE_INFINITY;
  return {
    'window-noise': ofNoise,
    'zero-noise': ofNoise,
    'background-noise': ofNoise,
    'reference-noise': ofNoise,
    'zero-drift': scatter.zeroDrift?.degreesOfFreedom ?? stated,
    challenge: scatter.challenge?.degreesOfFreedom ?? stated,
    dilution: stated,
    'line-loss': stated,
    'spatial-factor': stated,
    'time-constant': stated,
    transit: stated,
  };
}
