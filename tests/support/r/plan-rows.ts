import { chanceBelowLimit, subjectsForShare } from '../../../src/study/plan/limit-plan.ts';
import { contrastPower } from '../../../src/study/plan/power.ts';
import type { StudyDesign } from '../../../src/study/plan/scatter.ts';

/** A line of what R has computed of a plan. */
export interface PlanRow {
  readonly figure: string;
  readonly design: StudyDesign;
  readonly subjects: number;
  /** Ratio, limit over mean, or share. */
  readonly at: number;
  /** Of differences, of each group's values, or a confidence. */
  readonly deviation: number;
  readonly ratios: number;
  readonly value: number;
}

/** The lines of a file written by `tests/landing/r/plan.R`. */
export function planRows(text: string): PlanRow[] {
  return text
    .split('\n')
    .slice(2)
    .filter((line) => line !== '')
    .map((line) => {
      const [figure = '', design = '', ...numbers] = line.split(',');
      const [subjects = NaN, at = NaN, deviation = NaN, ratios = NaN, value = NaN] = numbers.map(Number);
      return { figure, design: design as StudyDesign, subjects, at, deviation, ratios, value };
    });
}

/** The same by this program. */
export function ownPlanFigure({ figure, design, subjects, at, deviation, ratios }: PlanRow): number {
  if (figure === 'forShare') return subjectsForShare(at, deviation, subjects) ?? Number.NaN;
  // What R calls the deviation is that of differences where they are paired.
  const trial = Math.exp(design === 'crossed' ? deviation / Math.SQRT2 : deviation);
  const scatter = { subject: 1, interaction: 1, trial };
  if (figure.startsWith('belowLimit')) {
    const coverage = Number(figure.slice('belowLimit'.length) || '80') / 100;
    const asked = { limitPercent: at, meanPercent: 1, scatter, trials: 1, coverage, confidence: 0.9 };
    return chanceBelowLimit(asked, subjects);
  }
  const found = contrastPower({ scatter, design, trials: 1, confidence: 0.95, ratios }, at, subjects);
  return found[figure as 'power' | 'halfWidth' | 'likelyHalfWidth'];
}

/** Lines on which program and R differ by more than 1e-9. */
export function planFiguresApart(rows: readonly PlanRow[]): unknown[] {
  return rows
    .map((row) => ({ ...row, own: ownPlanFigure(row) }))
    .filter(({ own, value }) => !(Math.abs(own - value) <= 1e-9 * Math.max(1, value)));
}
