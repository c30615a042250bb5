import { afterEach, expect, it } from 'vitest';
import { keptPlan } from '../../../../renderer/study/kept-plan.ts';
import type { PlanDraft } from '../../../../renderer/study/plan-draft.ts';

const anew = { subject: '', series: '', years: '' } as unknown as PlanDraft;
const typed = { subject: 'S01', series: '1 Ours', years: '36' } as unknown as PlanDraft;

afterEach(() => keptPlan.forget());

it('goes on with what was typed, once, and by the series that was chosen meanwhile', () => {
  keptPlan.keep(typed);
  expect(keptPlan.resume(anew, ['1 Ours'])).toEqual(typed);
  keptPlan.choose('2 Ours');
  expect(keptPlan.resume(anew, ['2 Ours'])).toEqual({ ...typed, series: '2 Ours' });
  keptPlan.forget();
  expect(keptPlan.resume(anew, ['2 Ours'])).toEqual(anew);
});

it('has a series chosen again that can be planned no longer', () => {
  keptPlan.keep(typed);
  expect(keptPlan.resume(anew, ['2 Ours']).series).toBe('');
});
