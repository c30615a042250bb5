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

/** A trial of a study as its summary rows give it. */
export interface StudyTrial {
  readonly trial: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly virtual: boolean;
  /** ISO 8601 in UTC. */
  readonly createdAt: string;
  readonly sealed: boolean;
  /** Leakage that the plan said is allowed, percent; null where it said none. */
  readonly requirementPercent: number | null;
  /** Name and version of the method by which it was assessed last; null where it was not. */
  readonly method: string | null;
  /** Of its newest assessment; null where there is none. */
  readonly cells: readonly StudyCell[] | null;
}

/**
 * Why a trial enters no figure. `void`: it was never sealed, or no cell of it has a value. `virtual`: real trials are
 * in the study, and the virtual rig says nothing about real ensembles.
 */
export type LeftOut = 'void' | 'not-assessed' | 'virtual';

/** A trial in the roster, with its leakages. */
export interface RosterRow {
  readonly trial: string;
  readonly subject: string;
  readonly ensemble: string;
  readonly createdAt: string;
  readonly virtual: boolean;
  readonly sealed: boolean;
  readonly assessed: boolean;
  readonly method: string | null;
  readonly leftOut: LeftOut | null;
  readonly cells: number;
  readonly cellsFlagged: number;
  readonly cellsMissing: number;
  /** Mean of all cells; null where there is none. */
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
    const { trial: name, subject, ensemble, createdAt, virtual, sealed, method } = trial;
    const assessed = trial.cells !== null;
    const leftOut = !sealed ? 'void' : !assessed ? 'not-assessed' : missing === cells.length ? 'void' : null;
    return {
      ...{ trial: name, subject, ensemble, createdAt, virtual, sealed, assessed, method, leftOut },
      cells: cells.length,
      cellsFlagged: cells.filter(({ flagged }) => flagged).length,
      cellsMissing: missing,
      whole,
      probes: Object.fromEntries(
        probes.map((probe) => [probe, meanLeakage(cells.filter((cell) => cell.probe === probe))]),
      ),
    };
  });
  const anyReal = rows.some(({ virtual, leftOut }) => !virtual && leftOut === null);
  return rows.map((row) => (anyReal && row.virtual && row.leftOut === null ? { ...row, leftOut: 'virtual' } : row));
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
export function meanLimit(cells: readonly StudyCell[]): number | null {
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
