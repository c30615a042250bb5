import { ChambersideError } from '../../model/error-code.ts';
import type { StoredAssessment } from './contract.ts';

/**
 * One of a trial's assessments.
 * @param all of the trial, in the order they were made. @param wanted identifier, or place among them from 1; null: the
 *   newest.
 * @throws ChambersideError `trial-not-finished` where there is none, `assessment-not-found`.
 */
export function chooseAssessment<One extends Pick<StoredAssessment, 'assessment'>>(
  all: readonly One[],
  path: string,
  trial: string,
  wanted: string | null,
): { readonly stored: One; readonly position: number } {
  const isWanted = ({ assessment }: One, index: number): boolean =>
    assessment === wanted || String(index + 1) === wanted;
  const index = wanted === null ? all.length - 1 : all.findIndex(isWanted);
  const stored = all[index];
  if (stored !== undefined) return { stored, position: index + 1 };
  if (all.length === 0) {
    throw new ChambersideError(
      'trial-not-finished',
      `Trial ${trial} is sealed and was not assessed`,
      path,
      `Assess it first: npx --no-install chamberside assess --study ${path} --trial ${trial}`,
    );
  }
  throw new ChambersideError(
    'assessment-not-found',
    `Trial ${trial} has no assessment ${wanted ?? ''}`,
    path,
    `Choose one of: ${all.map(({ assessment }, place) => `${place + 1} (${assessment})`).join(', ')}.`,
  );
}
