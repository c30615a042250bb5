import { describe, expect, it } from 'vitest';
import { demo } from '../../../../drivers/virtual-rig/scenarios/demo.ts';
import type { PlanDraft } from '../../../../renderer/study/plan-draft.ts';
import { readPlanDraft, seriesKey } from '../../../../renderer/study/plan-draft.ts';

const draft: PlanDraft = {
  file: 'hoods.chamberside',
  subject: 'S04',
  ensemble: 'Coverall A',
  series: seriesKey({ name: 'Coverall series, ten blocks', version: 1 }),
  orderOffset: '3',
  heartRateLimit: '150',
  requirementPercent: '0,5',
  years: '',
  form: '',
  sharePercent: '85',
  sustainedMinutes: '',
};

describe('a plan as a form', () => {
  it('is a plan when everything is there', () => {
    expect(readPlanDraft(draft, demo.rig)).toEqual({
      plan: {
        file: 'hoods.chamberside',
        subject: 'S04',
        ensemble: 'Coverall A',
        series: { name: 'Coverall series, ten blocks', version: 1 },
        orderOffset: 3,
        heartRateLimit: 150,
        heartByAge: null,
        requirementPercent: 0.5,
      },
      problems: new Map(),
    });
  });

  it('wants a heart-rate limit where the rig has a belt, and where no rig is known', () => {
    for (const rig of [demo.rig, null]) {
      const read = readPlanDraft({ ...draft, heartRateLimit: ' ' }, rig);
      expect(read.plan).toBeNull();
      expect(read.problems.get('heartRateLimit')).toEqual({ kind: 'empty' });
    }
  });

  it('goes without a heart-rate limit on a rig without a belt', () => {
    const read = readPlanDraft({ ...draft, heartRateLimit: '' }, { ...demo.rig, heartRate: null });
    expect(read.plan?.heartRateLimit).toBeNull();
  });

  it('goes without a requirement', () => {
    expect(readPlanDraft({ ...draft, requirementPercent: '' }, demo.rig).plan?.requirementPercent).toBeNull();
  });

  it('names every field that is wrong, each once', () => {
    const read = readPlanDraft(
      {
        file: '',
        subject: '',
        ensemble: ' ',
        series: '',
        orderOffset: '1.5',
        heartRateLimit: '300',
        requirementPercent: 'x',
        years: '101',
        form: '',
        sharePercent: 'y',
        sustainedMinutes: '0.5',
      },
      demo.rig,
    );
    expect(Object.fromEntries(read.problems)).toEqual({
      file: { kind: 'empty' },
      subject: { kind: 'empty' },
      ensemble: { kind: 'empty' },
      series: { kind: 'empty' },
      orderOffset: { kind: 'not-whole' },
      heartRateLimit: { kind: 'most', limit: 230, inclusive: true },
      requirementPercent: { kind: 'not-a-number' },
      years: { kind: 'most', limit: 80, inclusive: true },
      form: { kind: 'empty' },
      sharePercent: { kind: 'not-a-number' },
      sustainedMinutes: { kind: 'least', limit: 1, inclusive: true },
    });
  });

  it('takes a limit by age in place of a typed one, or beside it, and none on a rig without a belt', () => {
    const aged = { ...draft, years: '40', form: 'tanaka', sharePercent: '90', sustainedMinutes: '3' } as const;
    const heartByAge = { years: 40, form: 'tanaka', sharePercent: 90, sustainedMinutes: 3 };
    const untyped = readPlanDraft({ ...aged, heartRateLimit: '' }, demo.rig);
    expect(untyped.plan).toMatchObject({ heartRateLimit: null, heartByAge });
    expect(readPlanDraft(aged, demo.rig).plan).toMatchObject({ heartRateLimit: 150, heartByAge });
    expect(readPlanDraft(aged, { ...demo.rig, heartRate: null }).plan?.heartByAge).toBeNull();
    for (const without of [{ ...aged, form: '' as const }, { ...aged, sustainedMinutes: '' }]) {
      expect(readPlanDraft({ ...without, years: ' ' }, demo.rig).problems.get('years')).toEqual({ kind: 'empty' });
    }
  });
});
