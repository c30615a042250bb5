import { isChambersideError } from '../model/error-code.ts';
import type { Stated } from '../model/rig.ts';
import type { LeftOut } from './left-out.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { trialResponse } from './recorded-steps.ts';

/** The photometer's time constant by which a trial is assessed, and where it comes from. */
export interface UsedTimeConstant {
  readonly seconds: Stated;
  /** `falls`: of the trial's own falls from the chamber into filtered air. `rig`: as the rig states it. */
  readonly source: 'falls' | 'rig';
  /** Falls that were fitted; 0 where the rig's is used. */
  readonly falls: number;
  /** Why the trial does not show it; null where it does. */
  readonly reason: string | null;
}

/**
 * The time constant of the falls that a trial holds (decision 0061), with its standard uncertainty, which is never
 * below 1 % of it. A fall of which anything is left out is no fall. Where the trial does not show five of them, or its
 * line holds stale air, the rig's own.
 */
export function usedTimeConstant(record: TrialRecord, leftOut: readonly LeftOut[] = []): UsedTimeConstant {
  try {
    const { response } = trialResponse(record, leftOut);
    return { seconds: response.timeConstantSeconds, source: 'falls', falls: response.repeats, reason: null };
  } catch (error) {
    if (!isChambersideError(error, 'record-insufficient')) throw error;
    return { seconds: record.rig.timeConstantSeconds, source: 'rig', falls: 0, reason: error.what };
  }
}
