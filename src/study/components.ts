import { crossedAnalysis, crossedSingleAnalysis } from '../statistics/analysis-of-variance.ts';
import { fProbability } from '../statistics/distributions.ts';
import { outsideValidity } from './validity.ts';

/** The trials of one subject in one ensemble, percent of the challenge, all above zero. */
export interface CrossedCell {
  readonly subject: string;
  readonly ensemble: string;
  readonly percents: readonly number[];
  /** How many more lie below their detection limit; absent: none. */
  readonly below?: number;
}

/** Where the scatter of leakage comes from. Variances of natural logarithms; 0 where the estimate is below zero. */
export interface StudyComponents {
  readonly ensembles: number;
  /** Those who wore every ensemble. */
  readonly subjects: number;
  readonly subjectsLeftOut: number;
  readonly trialsPerCell: number;
  /** Trials differ in number from cell to cell: the geometric mean of each cell was taken. */
  readonly averaged: boolean;
  /** Of how many trials the value of a cell is the mean, harmonic mean over the cells; 1 unless `averaged`. */
  readonly trialsAveraged: number;
  readonly ensemble: number;
  readonly subject: number;
  /** Of subject with ensemble: null where one value in a cell leaves it among the trials. */
  readonly interaction: number | null;
  /** Trial to trial; with the interaction in it where that is null. */
  readonly trial: number;
  readonly fEnsemble: number;
  readonly fSubject: number;
  /** Chance of this F or a larger one where no ensemble, or no subject, differs from another. */
  readonly probabilityEnsemble: number;
  readonly probabilitySubject: number;
}

/**
 * Two-way random analysis of log leakage, subjects crossed with ensembles, by mean squares. Subjects who did not wear
 * every ensemble are left out and counted: the estimators are for full designs.
 * @throws ChambersideError `outside-validity` for fewer than two ensembles or three subjects who wore them all, for a
 *   leakage of theirs that is below its detection limit or not above zero, and where nothing scatters.
 */
export function studyComponents(cells: readonly CrossedCell[]): StudyComponents {
  const ensembles = [...new Set(cells.map(({ ensemble }) => ensemble))];
  const everybody = [...new Set(cells.map(({ subject }) => subject))];
  const at = new Map(cells.map((cell) => [keyOf(cell.subject, cell.ensemble), cell]));
  const of = (subject: string, ensemble: string): readonly number[] => at.get(keyOf(subject, ensemble))?.percents ?? [];
  const belowOf = (subject: string, ensemble: string): number => at.get(keyOf(subject, ensemble))?.below ?? 0;
  const subjects = everybody.filter((subject) =>
    ensembles.every((ensemble) => of(subject, ensemble).length + belowOf(subject, ensemble) > 0),
  );
  if (ensembles.length < 2 || subjects.length < 3) {
    const what = `too few to tell apart: ensembles ${ensembles.length}, subjects who wore all ${subjects.length}`;
    throw outsideValidity(what, statistic, 'At least two ensembles and three subjects are needed.');
  }
  const places = subjects.flatMap((subject) => ensembles.map((ensemble) => [subject, ensemble] as const));
  const inDesign = places.flatMap(([subject, ensemble]) => of(subject, ensemble));
  const below = places.reduce((sum, [subject, ensemble]) => sum + belowOf(subject, ensemble), 0);
  const todo = 'Look at a probe where every value is above its detection limit.';
  if (below > 0) {
    const what = `of ${inDesign.length + below} trials of subjects who wore all, below their detection limit ${below}`;
    throw outsideValidity(what, statistic, todo);
  }
  const bad = inDesign.find((percent) => !(percent > 0 && percent < Infinity));
  if (bad !== undefined) {
    throw outsideValidity(`a leakage of ${bad} % has no logarithm`, statistic, todo);
  }
  const table = subjects.map((subject) => ensembles.map((ensemble) => of(subject, ensemble).map(Math.log)));
  const counts = new Set(table.flatMap((row) => row.map((cell) => cell.length)));
  const [trialsPerCell = 1] = counts;
  const averaged = counts.size > 1;
  const about = {
    ensembles: ensembles.length,
    subjects: subjects.length,
    subjectsLeftOut: everybody.length - subjects.length,
    trialsPerCell: averaged ? 1 : trialsPerCell,
    averaged,
    trialsAveraged: averaged ? harmonicMean(table.flatMap((row) => row.map((cell) => cell.length))) : 1,
  };
  if (!averaged && trialsPerCell > 1) {
    const { rows, columns, interaction, fRows, fColumns, components } = crossedAnalysis(table);
    return {
      ...about,
      ensemble: components.columns,
      subject: components.rows,
      interaction: components.interaction,
      trial: components.within,
      ...tested(fColumns, columns.degreesOfFreedom, fRows, rows.degreesOfFreedom, interaction.degreesOfFreedom),
    };
  }
  const means = table.map((row) => row.map((cell) => cell.reduce((sum, value) => sum + value, 0) / cell.length));
  const { rows, columns, residual, fRows, fColumns, components } = crossedSingleAnalysis(means);
  return {
    ...about,
    ensemble: components.columns,
    subject: components.rows,
    interaction: null,
    trial: components.residual,
    ...tested(fColumns, columns.degreesOfFreedom, fRows, rows.degreesOfFreedom, residual.degreesOfFreedom),
  };
}

/** The variance of trials is in a mean of cells by this number, on the average over the cells. */
function harmonicMean(counts: readonly number[]): number {
  return counts.length / counts.reduce((sum, one) => sum + 1 / one, 0);
}

const statistic = 'components of variance';

function tested(
  fEnsemble: number,
  ofEnsembles: number,
  fSubject: number,
  ofSubjects: number,
  below: number,
): Pick<StudyComponents, 'fEnsemble' | 'fSubject' | 'probabilityEnsemble' | 'probabilitySubject'> {
  if (!Number.isFinite(fEnsemble) || !Number.isFinite(fSubject)) {
    throw outsideValidity('nothing scatters beside the means', statistic, 'Look at where the values come from.');
  }
  return {
    fEnsemble,
    fSubject,
    probabilityEnsemble: 1 - fProbability(fEnsemble, ofEnsembles, below),
    probabilitySubject: 1 - fProbability(fSubject, ofSubjects, below),
  };
}

function keyOf(subject: string, ensemble: string): string {
  return JSON.stringify([subject, ensemble]);
}
