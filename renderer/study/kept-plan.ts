import type { PlanDraft } from './plan-draft.ts';

let kept: PlanDraft | null = null;

/**
 * Keeps what was typed while its series is looked at on a screen of its own, and no longer: the next plan is for
 * another subject, and begins empty.
 */
export const keptPlan = {
  get draft(): PlanDraft | null {
    return kept;
  },
  keep(draft: PlanDraft): void {
    kept = draft;
  },
  forget(): void {
    kept = null;
  },
};
