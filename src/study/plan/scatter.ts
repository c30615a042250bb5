import type { StudyComponents } from '../components.ts';
import { outsideValidity } from '../validity.ts';

/**
 * What is expected to scatter, as geometric deviations: factors of 1 and more. 2 says that about two thirds lie between
 * half and double.
 */
export interface ExpectedScatter {
  /** Subject to subject, in one ensemble. */
  readonly subject: number;
  /** How differently subjects fare in one ensemble than in another. */
  readonly interaction: number;
  /** Trial to trial, of one subject in one ensemble. */
  readonly trial: number;
}

/**
 * `crossed`: every subject wears every ensemble. `separate`: each subject wears one of them.
 */
export type StudyDesign = 'crossed' | 'separate';

/**
 * Scatter as a study has shown it, for so many trials of a subject. Where one trial in each place left interaction and
 * trial together, the whole of it counts as interaction: more trials of a subject then promise nothing, which is the
 * cautious side. Where the values are means of several trials, what they scatter may be all trial to trial, of which
 * one trial has that many times as much: for fewer trials than are in them it counts as trial, else as interaction.
 * @param trials that are planned, of one subject in one ensemble.
 */
export function scatterOf(
  { subject, interaction, trial, trialsAveraged }: StudyComponents,
  trials: number,
): ExpectedScatter {
  const factor = (variance: number): number => Math.exp(Math.sqrt(variance));
  if (interaction !== null) {
    return { subject: factor(subject), interaction: factor(interaction), trial: factor(trial) };
  }
  return trials < trialsAveraged
    ? { subject: factor(subject), interaction: 1, trial: factor(trial * trialsAveraged) }
    : { subject: factor(subject), interaction: factor(trial), trial: 1 };
}

/**
 * Variances of natural logarithms, of one subject's mean over `trials`: of what an ensemble's mean rests on, and of
 * what a contrast of two ensembles rests on. Textbook, from the two-way random model of `studyComponents`.
 * @throws ChambersideError `outside-validity` for a deviation below 1, for none above it, and unless trials are whole
 *   and at least 1.
 */
export function varianceOf(
  scatter: ExpectedScatter,
  design: StudyDesign,
  trials: number,
): { readonly mean: number; readonly contrast: number } {
  const [subject, interaction, trial] = [scatter.subject, scatter.interaction, scatter.trial].map((factor) => {
    if (!(factor >= 1 && factor < 1000)) {
      const todo = 'Give factors from 1 to 1000: 1 says that nothing scatters, 2 half to double.';
      throw outsideValidity(`a geometric deviation of ${factor}`, 'plan of a study', todo);
    }
    return Math.log(factor) ** 2;
  }) as [number, number, number];
  if (!(Number.isInteger(trials) && trials >= 1)) {
    throw outsideValidity(`${trials} trials of a subject`, 'plan of a study', 'Give a whole number from 1.');
  }
  const own = interaction + trial / trials;
  const mean = subject + own;
  const contrast = design === 'crossed' ? 2 * own : 2 * mean;
  if (contrast === 0) {
    const todo = 'Give what is expected to scatter: a deviation above 1 from trial to trial, or with the ensemble.';
    throw outsideValidity('nothing is expected to scatter', 'plan of a study', todo);
  }
  return { mean, contrast };
}
