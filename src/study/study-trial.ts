import { sumOf } from '../statistics/univariate.ts';
import type { Leakage } from './lognormal.ts';

/** One cell of the assessment that counts, percent of the challenge. */
export interface StudyCell {
  readonly exercise: string;
  readonly probe: string;
  /** Raw and signed; null where there is none. */
  readonly percent: number | null;
  /** Null where the assessment knows none. */
  readonly limitPercent: number | null;
  readonly flagged: boolean;
}

/** That the assessment which counts was made by a reviewer. */
export interface StudyReview {
  /** Code of the reviewer. */
  readonly person: string;
  /** How many stretches are left out; with none another method was chosen, or a choice taken back. */
  readonly leftOut: number;
}

/** That a reviewer made the trial void. */
export interface StudyVoiding {
  /** Code of the reviewer. */
  readonly person: string;
  readonly reason: string;
}

/** A trial of a study as its summary rows give it. */
export interface StudyTrial {
  readonly trial: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly virtual: boolean;
  /** ISO 8601 in UTC. */
  readonly createdAt: string;
  readonly sealed: boolean;
  /** By whom and why it was made void; null where it is not. */
  readonly voided: StudyVoiding | null;
  /** Who released the assessment that counts, and when (ISO 8601 in UTC); absent: nobody did. */
  readonly released?: { readonly person: string; readonly at: string };
  /** The trial that was broken off and at whose later exercise it begins; absent: it is a trial of its own. */
  readonly continues?: string;
  /** Leakage that the plan said is allowed, percent; null where it said none. */
  readonly requirementPercent: number | null;
  /** Name and version of the method of the assessment that counts; null where it was not. */
  readonly method: string | null;
  /** Of the assessment that counts; null where nobody chose anything. */
  readonly review: StudyReview | null;
  /** Names of the rig's checks that were overdue or had failed when it was prepared. */
  readonly doubtfulChecks: readonly string[];
  /** Of the assessment that counts; null where there is none. */
  readonly cells: readonly StudyCell[] | null;
}

/**
 * Why a trial enters no figure. `void`: a reviewer made it so. `no-result`: it was never sealed, or no cell of it has a
 * value. `virtual`: real trials are
 * in the study, and the virtual rig says nothing about real ensembles. `not-above-zero`: its mean is zero or less,
 * which has no place on a log scale, and no detection limit is known below which it could be said to be. `what-if`: it
 * is asked what the study would say without it.
 */
export type LeftOut = 'void' | 'no-result' | 'not-assessed' | 'virtual' | 'not-above-zero' | 'what-if';

/** A trial in the roster, with its leakages. */
export interface RosterRow {
  readonly trial: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly createdAt: string;
  readonly virtual: boolean;
  readonly sealed: boolean;
  readonly voided: StudyVoiding | null;
  readonly continues: boolean;
  readonly assessed: boolean;
  readonly method: string | null;
  readonly review: StudyReview | null;
  /** Code of who released the assessment that counts; null where nobody did. */
  readonly releasedBy: string | null;
  readonly doubtfulChecks: readonly string[];
  readonly leftOut: LeftOut | null;
  readonly cells: number;
  readonly cellsFlagged: number;
  readonly cellsMissing: number;
  /** Mean of all cells; null where there is none, or none that has a place on a log scale. */
  readonly whole: Leakage | null;
  /** Mean over the exercises, by probe. */
  readonly probes: Readonly<Record<string, Leakage | null>>;
}

/** Roster rows in the order of the trials. */
export function rosterOf(trials: readonly StudyTrial[]): RosterRow[] {
  const rows = trials.map((trial): RosterRow => {
    const cells = trial.cells ?? [];
    const missing = cells.filter(({ percent }) => percent === null).length;
    const probes = [...new Set(cells.map(({ probe }) => probe))];
    const whole = meanLeakage(cells);
    const { trial: name, subject, ensemble, createdAt, virtual, sealed, voided } = trial;
    const { method, review, doubtfulChecks } = trial;
    const assessed = trial.cells !== null;
    return {
      ...{ trial: name, subject, ensemble, createdAt, virtual, sealed, voided },
      continues: trial.continues !== undefined,
      ...{ assessed, method, review, doubtfulChecks },
      releasedBy: trial.released?.person ?? null,
      leftOut: voided !== null ? 'void' : whyLeftOut(sealed, assessed, missing === cells.length, whole),
      cells: cells.length,
      cellsFlagged: cells.filter(({ flagged }) => flagged).length,
      cellsMissing: missing,
      whole,
      probes: Object.fromEntries(
        probes.map((probe) => [probe, meanLeakage(cells.filter((cell) => cell.probe === probe))]),
      ),
    };
  });
  const anyReal = rows.some((row) => !row.virtual && isHeldAgainstLimits(row));
  return rows.map((row) => (anyReal && row.virtual && isHeldAgainstLimits(row) ? { ...row, leftOut: 'virtual' } : row));
}

function whyLeftOut(sealed: boolean, assessed: boolean, isEmpty: boolean, whole: Leakage | null): LeftOut | null {
  if (!sealed) return 'no-result';
  if (!assessed) return 'not-assessed';
  if (isEmpty) return 'no-result';
  return whole === null ? 'not-above-zero' : null;
}

/**
 * Whether shares and verdicts take the trial in: those in the figures, those whose mean has no logarithm, and those of
 * which a reviewer left out so much that nothing is there; of these it cannot be told.
 */
export function isHeldAgainstLimits({ leftOut, review }: Pick<RosterRow, 'leftOut' | 'review'>): boolean {
  const isCutAway = leftOut === 'no-result' && review !== null && review.leftOut > 0;
  return leftOut === null || leftOut === 'not-above-zero' || isCutAway;
}

/** `checks that were overdue or had failed: dilution, Ankle; zero` */
export function checkWords(names: readonly string[]): string {
  const one = names.length === 1 ? 'a check that was' : 'checks that were';
  return `${one} overdue or had failed: ${names.join('; ')}`;
}

/** What is to be said of real trials whose result may still be another one; null where all of them are released. */
export function unreleasedWords(
  trials: readonly { readonly virtual: boolean; readonly releasedBy: string | null }[],
): string | null {
  const real = trials.filter(({ virtual }) => !virtual);
  const open = real.filter(({ releasedBy }) => releasedBy === null).length;
  if (open === 0) return null;
  const many = `${open} of ${real.length} trial${real.length === 1 ? '' : 's'}`;
  return `${many} count${open === 1 ? 's' : ''} by an assessment that nobody has released`;
}

/** `the reviewer rita had it assessed, 1 stretch left out` */
export function reviewWords({ person, leftOut }: StudyReview): string {
  const left = leftOut === 0 ? 'nothing left out' : `${leftOut} stretch${leftOut === 1 ? '' : 'es'} left out`;
  return `the reviewer ${person} had it assessed, ${left}`;
}

/**
 * Arithmetic mean of cells, as the texts say "mean", with raw numbers below the limit in it. It counts as below a limit
 * where it is less than the mean of the cells' limits: the cells share zero and blank, so that the limit of their mean
 * is not smaller by the root of their number.
 * @returns null where no cell has a value, or their mean is not above zero and no limit is known.
 */
export function meanLeakage(cells: readonly StudyCell[]): Leakage | null {
  const present = cells.filter(({ percent }) => percent !== null);
  if (present.length === 0) return null;
  const percent = sumOf(present.map((cell) => cell.percent ?? Number.NaN)) / present.length;
  const limit = meanLimit(cells);
  if (limit !== null && percent < limit) return { percent: limit, below: true };
  return percent > 0 ? { percent, below: false } : null;
}

/** Mean detection limit of the cells that have a value, percent; null where one of them has none. */
export function meanLimit(cells: readonly Pick<StudyCell, 'percent' | 'limitPercent'>[]): number | null {
  const present = cells.filter(({ percent }) => percent !== null);
  const limits = present.flatMap(({ limitPercent }) => (limitPercent === null ? [] : [limitPercent]));
  return limits.length === 0 || limits.length < present.length ? null : sumOf(limits) / limits.length;
}

/**
 * What a subject leaked in an ensemble over several trials: their geometric mean; with a value below its limit among
 * them only that it is below the geometric mean of values and limits.
 */
export function subjectLeakage(trials: readonly Leakage[]): Leakage {
  const logarithms = trials.map(({ percent }) => Math.log(percent));
  const [only] = trials;
  if (trials.length === 1 && only !== undefined) return only;
  return { percent: Math.exp(sumOf(logarithms) / trials.length), below: trials.some(({ below }) => below) };
}
