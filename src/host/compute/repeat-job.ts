import { ChambersideError } from '../../model/error-code.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import { restOfSeries } from '../../series/rest-of-series.ts';
import { repeatOffer } from '../../trial/repeat.ts';
import { readTrialPlan, readTrialSummary } from '../store/read.ts';

/** What a trial was planned to be, for doing it again. */
export interface RepeatedPlan {
  readonly header: TrialHeader;
  readonly rig: Rig;
  /** The whole series, or what is left of it. */
  readonly series: Series;
}

/**
 * @param from exercise with which to begin; null: the whole series.
 * @throws ChambersideError `trial-not-found`, `trial-not-finished` for a trial that is not sealed, `action-refused` for
 *   one that counts and ran to its end, `usage-bad-value` for an exercise that is not the one that was broken off.
 */
export function readRepeatedPlan(path: string, trial: string, from: string | null): RepeatedPlan {
  const { sealed, voided } = readTrialSummary(path, trial);
  if (sealed === null) {
    throw new ChambersideError('trial-not-finished', `Trial ${trial} is not sealed`, path, 'Close it first.');
  }
  const { events, header, rig, series } = readTrialPlan(path, trial);
  const offer = repeatOffer(series, events, voided !== null);
  if (offer === null) {
    const what = 'The trial ran to its end and is not void';
    throw new ChambersideError('action-refused', what, trial, 'Plan another trial, or have a reviewer make it void.');
  }
  if (from === null) return { header, rig, series };
  const rest = from === offer.from ? restOfSeries(series, from) : null;
  if (rest === null) {
    const remedy = offer.from === null ? 'Repeat the whole trial.' : `Begin with ${offer.from}, or repeat all of it.`;
    throw new ChambersideError('usage-bad-value', `it was not broken off at ${from}`, trial, remedy);
  }
  return { header, rig, series: rest };
}
