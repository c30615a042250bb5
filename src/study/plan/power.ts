import { chiSquareQuantile, studentQuantile } from '../../statistics/distributions.ts';
import { noncentralStudentAbove } from '../../statistics/noncentral-tail.ts';
import { fewestValues } from '../lognormal.ts';
import { outsideValidity, requireConfidence } from '../validity.ts';
import { type ExpectedScatter, type StudyDesign, varianceOf } from './scatter.ts';
import { welchLikelyReach, welchPower, welchReach } from './welch.ts';

/** A comparison of two ensembles as it is planned. */
export interface PlannedContrast {
  readonly scatter: ExpectedScatter;
  readonly design: StudyDesign;
  /** Of one subject in one ensemble. */
  readonly trials: number;
  /** Of all intervals together, above 0.5 and below 1. */
  readonly confidence: number;
  /** How many ratios are to hold together, as `leakageRatio` takes them: of t ensembles t (t − 1)/2. */
  readonly ratios: number;
}

/** What a number of subjects buys. In a separate design they are those of each ensemble. */
export interface ContrastPower {
  readonly subjects: number;
  /** Chance that the interval of the ratio leaves out 1, where the true ratio is the one asked. */
  readonly power: number;
  /**
   * Half width of the interval of the ratio, as a factor: × 1.5 says from the ratio divided by 1.5 to times 1.5. As it
   * is where the scatter found is the scatter expected.
   */
  readonly halfWidth: number;
  /** The same, not exceeded in 8 of 10 studies: the scatter that is found scatters itself. */
  readonly likelyHalfWidth: number;
}

/** How sure the likely half width is. */
export const likelyShare = 0.8;

/** Numbers of subjects that are tried; beyond, a plan is of another kind of study. */
export const mostSubjects = 1000;

/**
 * Power of the comparison that `leakageRatio` makes: two-sided t of the logarithms, paired, noncentral t of n − 1
 * degrees of freedom as power.t.test(…, strict = TRUE) of R; or Welch's of two groups of equal size and true scatter,
 * whose degrees of freedom the study finds (`welchReach`): of few subjects well below that of the pooled t.
 * @param ratio of geometric means that is to be told from 1, above zero and not 1.
 * @throws ChambersideError `outside-validity` for fewer than three subjects or more than 1000, and arguments that are
 *   none.
 */
export function contrastPower(planned: PlannedContrast, ratio: number, subjects: number): ContrastPower {
  const { scatter, design, trials, confidence, ratios } = planned;
  requireConfidence(confidence, 'confidence', statistic);
  if (!(ratio > 0 && ratio < Infinity && ratio !== 1)) {
    throw outsideValidity(`a ratio of ${ratio}`, statistic, 'Give how many times as much, above zero and not 1.');
  }
  if (!(Number.isInteger(subjects) && subjects >= fewestValues && subjects <= mostSubjects)) {
    const todo = `Give a whole number from ${fewestValues} to ${mostSubjects}.`;
    throw outsideValidity(`${subjects} subjects`, statistic, todo);
  }
  const degreesOfFreedom = design === 'crossed' ? subjects - 1 : 2 * subjects - 2;
  const variance = varianceOf(scatter, design, trials).contrast;
  const error = Math.sqrt(variance / subjects);
  const doubt = (1 - confidence) / (2 * ratios);
  const critical = studentQuantile(1 - doubt, degreesOfFreedom);
  const noncentrality = Math.abs(Math.log(ratio)) / error;
  const halfWidth = Math.exp(critical * error);
  if (design === 'separate') {
    const reach = welchReach(subjects, doubt);
    const power = welchPower(reach, subjects, noncentrality);
    const likelyHalfWidth = Math.exp(error * welchLikelyReach(reach, subjects, likelyShare));
    return { subjects, power, halfWidth, likelyHalfWidth };
  }
  // Farther away than that, nothing lies on the other side.
  const other = noncentrality > 37 ? 0 : noncentralStudentAbove(critical, degreesOfFreedom, -noncentrality);
  const wide = Math.sqrt(chiSquareQuantile(likelyShare, degreesOfFreedom) / degreesOfFreedom);
  return {
    subjects,
    power: noncentralStudentAbove(critical, degreesOfFreedom, noncentrality) + other,
    halfWidth,
    likelyHalfWidth: Math.exp(critical * error * wide),
  };
}

/** Half width of the interval of an ensemble's geometric mean, as a factor; `likely` as of `ContrastPower`. */
export function meanHalfWidth(
  { scatter, design, trials, confidence }: Omit<PlannedContrast, 'ratios'>,
  subjects: number,
): { readonly halfWidth: number; readonly likelyHalfWidth: number } {
  requireConfidence(confidence, 'confidence', statistic);
  if (!(Number.isInteger(subjects) && subjects >= fewestValues)) {
    throw outsideValidity(`${subjects} subjects`, statistic, `Give a whole number from ${fewestValues}.`);
  }
  const degreesOfFreedom = subjects - 1;
  const reach = studentQuantile((1 + confidence) / 2, degreesOfFreedom);
  const error = reach * Math.sqrt(varianceOf(scatter, design, trials).mean / subjects);
  const wide = Math.sqrt(chiSquareQuantile(likelyShare, degreesOfFreedom) / degreesOfFreedom);
  return { halfWidth: Math.exp(error), likelyHalfWidth: Math.exp(error * wide) };
}

/** Fewest subjects with at least this power; null where even `mostSubjects` have less. */
export function subjectsForPower(planned: PlannedContrast, ratio: number, power: number): ContrastPower | null {
  return fewestWith((subjects) => contrastPower(planned, ratio, subjects), (found) => found.power >= power);
}

/** Fewest subjects whose interval is likely not wider than this factor; null where `mostSubjects` are too few. */
export function subjectsForWidth(planned: PlannedContrast, halfWidth: number): ContrastPower | null {
  return fewestWith(
    // The ratio changes the power only.
    (subjects) => contrastPower(planned, 2, subjects),
    (found) => found.likelyHalfWidth <= halfWidth,
  );
}

/** The first number of subjects that is enough; more are never worse. */
function fewestWith(
  of: (subjects: number) => ContrastPower,
  isEnough: (found: ContrastPower) => boolean,
): ContrastPower | null {
  let [low, high] = [fewestValues, mostSubjects];
  if (!isEnough(of(high))) return null;
  while (low < high) {
    const middle = Math.floor((low + high) / 2);
    if (isEnough(of(middle))) high = middle;
    else low = middle + 1;
  }
  return of(low);
}

const statistic = 'plan of a comparison';
