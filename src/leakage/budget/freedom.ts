import type { CertifiedInput } from '../certified.ts';
import type { TrialInputs } from '../trial-inputs.ts';
import type { BudgetLineName } from './line.ts';
import type { LineFreedom } from './uncertainty.ts';

/** Degrees of freedom of the lines of a trial: of the scatter that each was estimated from, or of its certificates. */
export function freedomOf(
  { blank, scatter }: TrialInputs,
  certified: readonly Pick<CertifiedInput, 'line' | 'degreesOfFreedom'>[],
): LineFreedom {
  const ofNoise = blank?.degreesOfFreedom ?? Number.POSITIVE_INFINITY;
  const stated = Number.POSITIVE_INFINITY;
  // The least of those of a line: values of several certificates have no common estimate.
  const byCertificate = (line: BudgetLineName): number =>
    Math.min(stated, ...certified.map((one) => (one.line === line ? (one.degreesOfFreedom ?? stated) : stated)));
  return {
    'window-noise': ofNoise,
    'zero-noise': ofNoise,
    'background-noise': ofNoise,
    'reference-noise': ofNoise,
    'zero-drift': scatter.zeroDrift?.degreesOfFreedom ?? stated,
    challenge: scatter.challenge?.degreesOfFreedom ?? stated,
    dilution: byCertificate('dilution'),
    'line-loss': byCertificate('line-loss'),
    'spatial-factor': byCertificate('spatial-factor'),
    linearity: byCertificate('linearity'),
    breathing: stated,
    'time-constant': stated,
    transit: stated,
  };
}
