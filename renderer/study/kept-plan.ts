import type { PlanDraft } from './plan-draft.ts';

let kept: PlanDraft | null = null;
let series: string | null = null;

/**
 * Keeps what was typed while its series is looked at on a screen of its own, and no longer: the next plan is for
 * another subject, and begins empty. A series that was chosen there is the plan's.
 */
export const keptPlan = {
  keep(draft: PlanDraft): void {
    kept = draft;
  },
  /** @param key name and version of a series, as `seriesKey` joins them. */
  choose(key: string): void {
    series = key;
  },
  /**
   * The plan to go on with, else the one that is begun anew. @param offered series that can be planned: one that is no
   * longer there has to be chosen again.
   */
  resume(anew: PlanDraft, offered: readonly string[]): PlanDraft {
    const draft = kept ?? anew;
    const wanted = series ?? draft.series;
    return { ...draft, series: offered.includes(wanted) ? wanted : '' };
  },
  forget(): void {
    kept = null;
    series = null;
  },
};
