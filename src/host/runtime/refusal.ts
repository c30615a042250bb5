import { ChambersideError } from '../../model/error-code.ts';

/**
 * Why nothing else can begin. A closed trial that waits for its list of after the trial was closed already: to close it
 * is no advice.
 */
export function underWayRefusal(trial: string, waitsForAfter: boolean): ChambersideError {
  if (!waitsForAfter) return refusal('a trial is under way', trial, 'Close it first.');
  const what = 'the list of after the trial is not gone through, and the trial not sealed';
  return refusal(what, trial, 'Go through the list of after the trial first.');
}

/** What a person asked for cannot be done now. */
export function refusal(what: string, where: string, remedy: string): ChambersideError {
  return new ChambersideError('action-refused', what, where, remedy);
}
