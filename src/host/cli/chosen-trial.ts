import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { listTrials } from '../store/read.ts';
import { describeTrials, trialState, type TrialState } from '../store/trial-states.ts';

/**
 * The trial that a command is about: the one named, or the only one of the study.
 * @throws ChambersideError `trial-not-found`, with the trials there are; `usage-unknown-option` when one of several
 * has to be named.
 */
export function chosenTrial(
  studyPath: string,
  named: string | undefined,
): { readonly trial: string; readonly state: TrialState } {
  const trial = named ?? soleTrial(studyPath);
  try {
    return { trial, state: trialState(studyPath, trial) };
  } catch (error) {
    if (!isChambersideError(error, 'trial-not-found')) throw error;
    throw new ChambersideError(error.code, error.what, studyPath, describeTrials(studyPath), error);
  }
}

function soleTrial(studyPath: string): string {
  const trials = listTrials(studyPath);
  const [only] = trials;
  if (only !== undefined && trials.length === 1) return only.trial;
  if (only === undefined) {
    throw new ChambersideError('trial-not-found', 'the study holds no trial', studyPath, 'Record one first.');
  }
  throw new ChambersideError(
    'usage-unknown-option',
    `the study holds ${trials.length} trials`,
    studyPath,
    `Name one with --trial. ${describeTrials(studyPath)}`,
  );
}
