import { decodeTruth, truthLeakagePercent } from '../../../drivers/virtual-rig/truth.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { readTruthFile } from './truth-file.ts';

/** True leakage, for the summary of a rehearsal and for nothing else. */
export interface TruthReader {
  /**
   * True leakage of a probe over an interval of the rig's monotonic clock, % of the challenge at the subject's place.
   * @returns null where the truth does not cover the interval.
   */
  leakagePercent(probe: string, fromMicroseconds: number, toMicroseconds: number): number | null;
}

/** @throws ChambersideError `file-not-found`; `file-not-ours` when it holds no truth record. */
export function openTruth(path: string): TruthReader {
  const truth = decodeTruth(readTruthFile(path));
  if (truth === null) {
    throw new ChambersideError(
      'file-not-ours',
      'the file holds no truth record of the virtual rig',
      path,
      'Name the truth file that the rehearsal wrote beside the study.',
    );
  }
  return {
    leakagePercent: (probe, fromMicroseconds, toMicroseconds) =>
      truthLeakagePercent(truth, probe, fromMicroseconds, toMicroseconds),
  };
}
