import type { Assessment } from '../../leakage/assessment.ts';
import { differenceOf } from '../../leakage/difference.ts';
import type { AssessmentDifference, ComparedAssessment } from '../../leakage/difference.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { readAssessments } from '../store/assessments.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import { chooseAssessment } from '../store/chosen-assessment.ts';

/**
 * How two stored assessments of a trial differ.
 * @param from, to identifier, or place from 1; null: the one before the other, and the newest.
 * @throws ChambersideError `trial-not-finished` without any, `assessment-not-found`, `record-insufficient` where there
 *   is only one or where one holds no details.
 */
export function readDifference(
  path: string,
  trial: string,
  from: string | null,
  to: string | null,
): AssessmentDifference {
  const all = readAssessments(path, trial);
  const after = chooseAssessment(all, path, trial, to);
  if (from === null && after.position === 1) {
    throw new ChambersideError(
      'record-insufficient',
      all.length === 1 ? `Trial ${trial} has one assessment only` : 'There is no assessment before the first',
      path,
      'Choose two, or make another one.',
    );
  }
  const before = chooseAssessment(all, path, trial, from ?? String(after.position - 1));
  return differenceOf(compared(before, path), compared(after, path));
}

function compared(
  { position, stored }: { readonly position: number; readonly stored: AssessmentDocument },
  path: string,
): ComparedAssessment {
  const { assessment, createdAt, details, method, program, review } = stored;
  if (details === null) {
    const what = `Assessment ${assessment} holds its values only, and not what they come from`;
    throw new ChambersideError('record-insufficient', what, path, 'Choose another one.');
  }
  return { assessment, position, createdAt, program, method, review: review ?? null, details: details as Assessment };
}
