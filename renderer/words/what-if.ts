import type { WhatIfDifference } from '../../src/study/what-if.ts';
import { limitNumber, significant } from './numbers.ts';

type Kept = WhatIfDifference['shares'][number]['standing'];

const trials = (count: number): string => (count === 1 ? '1 trial' : `${count} trials`);

export const whatIfWords = {
  title: 'What-if',
  begin: 'What if',
  nothingKept: 'A question only. Nothing here is kept, and the study stays as it stands.',
  back: 'Back to what stands',
  how: 'Press a mark or a row to leave its trial out; press it again to put it back.',
  computing: 'Computing the study anew',
  method: 'Count trials by',
  asItCounts: 'the assessment that counts',
  heldBy: (method: string, count: number) => `${method} (${trials(count)})`,
  asked: ({ counted, takenOut, otherwiseAssessed }: WhatIfDifference) => {
    const parts = [
      ...(takenOut > 0 ? [`${takenOut} of ${trials(counted)} left out`] : []),
      ...(otherwiseAssessed > 0 ? [`${otherwiseAssessed} of ${trials(counted)} by the other method`] : []),
    ];
    return parts.length === 0 ? 'No trial in the figures is touched.' : `${parts.join(', ')}.`;
  },
  answer: (changesAt: readonly string[]) =>
    changesAt.length > 0
      ? `What the study says of the ensembles changes: ${changesAt.join(', ')}.`
      : 'What the study says of the ensembles, whole and at every probe, stays the same; only the numbers move.',
  table: 'The study as it stands beside the what-if, whole trials',
  what: 'Whole trial',
  standing: 'As it stands',
  whatIf: 'What-if',
  difference: 'Difference',
  against: (upper: string, lower: string) => `${upper} against ${lower}`,
  mean: (ensemble: string) => `Geometric mean, ${ensemble}`,
  keeps: (ensemble: string, limitPercent: number) => `${ensemble} ≤ ${limitNumber(limitPercent, 3)}\u00a0%`,
  kept: (kept: Kept) => (kept === null ? 'cannot be told' : `${kept.passed} of ${kept.count} subjects`),
  percent: (percent: number | null) => (percent === null ? '–' : `${significant(percent, 3)}\u00a0%`),
  factor: (factor: number | null) => (factor === null ? '–' : `×\u00a0${significant(factor, 3)}`),
  none: 'No ratio.',
  onlyMoved: 'Of geometric means and limits only what moves is listed.',
  leaveOut: (subject: string, ensemble: string) => `Leave out the trial of ${subject} in ${ensemble}`,
  putBack: (subject: string, ensemble: string) => `Put back the trial of ${subject} in ${ensemble}`,
  point: 'Point at a mark to see whose it is; press it to leave its trial out, or to put it back.',
  crossed: 'crossed: left out; dashed: as it stands',
};
