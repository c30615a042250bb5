import type { Plan } from '../../src/bridge/contract.ts';
import { planSchema } from '../../src/bridge/contract.ts';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { AgeForm } from '../../src/model/heart-by-age.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { problemOfIssue } from '../ui/field-problem.ts';
import { readNumber } from '../ui/read-number.ts';

/** A plan on its way: as the form shows it. */
export interface PlanDraft {
  /** File of the study; empty: none chosen. */
  readonly file: string;
  readonly subject: string;
  readonly ensemble: string;
  /** Name and version of the series, joined as `seriesKey` does; empty: none chosen. */
  readonly series: string;
  readonly orderOffset: string;
  readonly heartRateLimit: string;
  readonly requirementPercent: string;
  /** Empty: no limit by age. */
  readonly years: string;
  /** Empty: not chosen yet. */
  readonly form: AgeForm | '';
  readonly sharePercent: string;
  /** Empty: not watched. */
  readonly sustainedMinutes: string;
}

type NumberField =
  'orderOffset' | 'heartRateLimit' | 'requirementPercent' | 'years' | 'sharePercent' | 'sustainedMinutes';

export interface ReadPlan {
  readonly plan: Plan | null;
  readonly problems: ReadonlyMap<keyof PlanDraft, FieldProblem>;
}

/** One name for a series and its version. */
export function seriesKey(series: { readonly name: string; readonly version: number }): string {
  return `${series.version} ${series.name}`;
}

/**
 * The plan that was typed, or what is wrong with it by field. The heart-rate limit may stay empty only for a rig
 * without a belt, and where the age gives one.
 */
export function readPlanDraft(draft: PlanDraft, rig: Rig | null): ReadPlan {
  const problems = new Map<keyof PlanDraft, FieldProblem>();
  const number = (field: NumberField): number => {
    const value = readNumber(draft[field]);
    if (value === null) problems.set(field, { kind: 'not-a-number' });
    return value ?? 0;
  };
  const belt = rig === null || rig.heartRate !== null;
  const noLimit = draft.heartRateLimit.trim() === '';
  const noAge = draft.years.trim() === '' || !belt;
  if (belt && noLimit && noAge) problems.set('heartRateLimit', { kind: 'empty' });
  if (!noAge && draft.form === '') problems.set('form', { kind: 'empty' });
  // What is meant to be watched by age and is not would be watched in name only.
  if (belt && noAge && (draft.form !== '' || draft.sustainedMinutes.trim() !== '')) {
    problems.set('years', { kind: 'empty' });
  }
  for (const field of ['file', 'series'] as const) {
    if (draft[field] === '') problems.set(field, { kind: 'empty' });
  }
  const space = draft.series.indexOf(' ');
  const candidate = {
    file: draft.file,
    subject: draft.subject.trim(),
    ensemble: draft.ensemble.trim(),
    series: { name: draft.series.slice(space + 1), version: Number(draft.series.slice(0, Math.max(space, 0))) },
    orderOffset: number('orderOffset'),
    heartRateLimit: noLimit ? null : number('heartRateLimit'),
    heartByAge: noAge
      ? null
      : {
          years: number('years'),
          form: draft.form === '' ? 'tanaka' : draft.form,
          sharePercent: number('sharePercent'),
          sustainedMinutes: draft.sustainedMinutes.trim() === '' ? null : number('sustainedMinutes'),
        },
    requirementPercent: draft.requirementPercent.trim() === '' ? null : number('requirementPercent'),
  };
  const parsed = planSchema.safeParse(candidate);
  if (!parsed.success) {
    for (const issue of parsed.error.issues) {
      const [first, second] = issue.path;
      const field = (first === 'heartByAge' ? second : first) as keyof PlanDraft;
      if (!problems.has(field)) problems.set(field, problemOfIssue(issue));
    }
  }
  return { plan: problems.size === 0 && parsed.success ? parsed.data : null, problems };
}

/**
 * A plan to begin with: the study that was asked for, or the only one; the only series; the row of the rotation
 * after as many trials as the study holds, so that the order moves on by itself.
 */
export function firstPlanDraft(snapshot: Snapshot, file: string | null): PlanDraft {
  const readable = snapshot.studies.filter((study) => study.failure === null);
  const study = readable.find((one) => one.file === file) ?? (readable.length === 1 ? readable[0] : undefined);
  const [series] = snapshot.series;
  return {
    file: study?.file ?? '',
    subject: '',
    ensemble: study?.trials.at(-1)?.ensemble ?? '',
    series: series !== undefined && snapshot.series.length === 1 ? seriesKey(series) : '',
    orderOffset: String(study?.trials.length ?? 0),
    heartRateLimit: '',
    requirementPercent: '',
    years: '',
    form: '',
    sharePercent: '85',
    sustainedMinutes: '',
  };
}
