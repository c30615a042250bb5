import { countingAssessment, readAssessments } from '../store/assessments.ts';
import { listTrials, readTrial } from '../store/read.ts';
import { readSignatures } from '../store/signatures.ts';
import { readVoidings } from '../store/voidings.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { Identifier } from '../../model/identity.ts';
import type { TrialResult } from '../../bridge/result.ts';
import { resultView } from './result-view.ts';

/**
 * A recorded trial with the assessment that counts.
 * @throws ChambersideError `trial-not-found` and those of opening.
 */
export function readResult(path: string, file: string, trial: Identifier): TrialResult {
  const all = listTrials(path);
  const summary = all.find((candidate) => candidate.trial === trial);
  if (summary === undefined) {
    throw new ChambersideError('trial-not-found', `The study holds no trial ${trial}`, file, 'Read the folder again.');
  }
  const repeatedBy = all.flatMap((one) => (one.header.repeats?.trial === trial ? [one.trial] : []));
  const [record, counting] = [readTrial(path, trial), countingAssessment(path, trial)];
  const [assessments, voidings] = [readAssessments(path, trial), readVoidings(path, trial)];
  const signatures = readSignatures(path, trial);
  return resultView(file, summary, record, { counting, assessments, voidings, signatures, repeatedBy });
}
