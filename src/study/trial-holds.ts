import { sumOf } from '../statistics/univariate.ts';
import { holds } from './judge.ts';
import { both } from './limit-share.ts';
import type { Equality, Rule } from './requirement.ts';
import { meanLimit, type StudyCell } from './study-trial.ts';

type Value = Pick<StudyCell, 'exercise' | 'percent' | 'limitPercent'>;

/**
 * Whether one trial alone keeps the limits of a rule: the unit of a share with an interval, because the values of one
 * trial are not independent. Of a rank on single values all of them must hold; of classes one must be reached. With a
 * value missing it never keeps them, and exceeds them only where it would whatever the missing value was.
 * @returns null where it cannot be told: a value is missing, lies below a detection limit that is above the rule's, or
 *   is exactly the limit and the source does not say.
 */
export function trialHolds(rule: Rule, values: readonly Value[]): boolean | null {
  if (values.length === 0) return null;
  const exercises = [...new Set(values.map(({ exercise }) => exercise))].map((exercise) =>
    values.filter((value) => value.exercise === exercise),
  );
  const { equality } = rule;
  switch (rule.rule) {
    case 'rank': {
      const looked = rule.of === 'single-values' ? values.map((value) => [value]) : [values];
      return all(looked.map((own) => meanHolds(own, rule.limitPercent, equality)));
    }
    case 'highest-exercise-mean':
      return all(exercises.map((own) => meanHolds(own, rule.limitPercent, equality)));
    case 'overall-mean':
      return meanHolds(values, rule.limitPercent, equality);
    case 'classes': {
      const reached = rule.classes.map(({ highestExercisePercent, overallPercent }) =>
        all([
          ...exercises.map((own) => meanHolds(own, highestExercisePercent, equality)),
          meanHolds(values, overallPercent, equality),
        ]),
      );
      return reached.includes(true) ? true : reached.includes(null) ? null : false;
    }
  }
}

/** Of the arithmetic mean. */
function meanHolds(values: readonly Value[], limitPercent: number, equality: Equality): boolean | null {
  const present = values.filter(({ percent }) => percent !== null && Number.isFinite(percent));
  // No leakage is below zero: with values missing the mean is at least this.
  const mean = sumOf(present.map(({ percent }) => percent ?? 0)) / values.length;
  const detection = meanLimit(present);
  const isBelow = detection !== null && mean < detection;
  const held = isBelow ? (detection <= limitPercent ? true : null) : holds(mean, limitPercent, equality);
  return present.length < values.length && held === true ? null : held;
}

function all(held: readonly (boolean | null)[]): boolean | null {
  return held.reduce(both, true);
}
