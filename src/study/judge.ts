import { sumOf } from '../statistics/univariate.ts';
import { type Equality, type Requirement, type Rule, sourceDoubt } from './requirement.ts';
import { checkWords, reviewWords, unreleasedWords, type StudyReview } from './study-trial.ts';

/** The values of one ensemble, from one trial. */
export interface EnsembleValues {
  /** Name for messages: the trial. */
  readonly name: string;
  readonly virtual: boolean;
  /** Null: nobody chose anything. */
  readonly review: StudyReview | null;
  /** Code of who released the assessment that counts; null where nobody did. */
  readonly releasedBy: string | null;
  /** Names of the rig's checks that were overdue or had failed when it was prepared. */
  readonly doubtfulChecks: readonly string[];
  readonly values: readonly {
    readonly exercise: string;
    readonly probe: string;
    /** Raw, also below a detection limit; null where there is none. */
    readonly percent: number | null;
    readonly flagged: boolean;
  }[];
}

export interface RuleVerdict {
  readonly rule: Rule;
  readonly verdict: 'passed' | 'failed' | 'not-evaluated';
  /** The figures behind it, in words. */
  readonly because: string;
  /** For a class rule that was evaluated: the class, null for none. */
  readonly class: string | null;
}

export interface Verdict {
  readonly requirement: string;
  /** Passed when every rule passed, failed when one failed. */
  readonly verdict: 'passed' | 'failed' | 'not-evaluated';
  readonly rules: readonly RuleVerdict[];
  /** What whoever reads the verdict must know: source, flags, checks, reviewers, virtual rig. Shown wherever it is. */
  readonly doubts: readonly string[];
}

/**
 * Holds ensembles against a requirement. Means are arithmetic, as the texts say "mean". Nothing is evaluated when the
 * number of ensembles or values is another one than asked for, or when a value is missing: nothing is scaled.
 */
export function judge(requirement: Requirement, ensembles: readonly EnsembleValues[]): Verdict {
  const obstacle = obstacleTo(requirement, ensembles);
  const rules = requirement.rules.map((rule) =>
    obstacle === null ? judgeRule(rule, ensembles) : notEvaluated(rule, obstacle),
  );
  const has = (verdict: RuleVerdict['verdict']): boolean => rules.some((rule) => rule.verdict === verdict);
  return {
    requirement: requirement.name,
    verdict: has('failed') ? 'failed' : has('not-evaluated') ? 'not-evaluated' : 'passed',
    rules,
    doubts: doubtsOf(requirement, ensembles),
  };
}

function obstacleTo(requirement: Requirement, ensembles: readonly EnsembleValues[]): string | null {
  const { ensembles: asked, valuesPerEnsemble } = requirement;
  const there = ensembles.length;
  if (there === 0) return 'there are no ensembles';
  if ('exactly' in asked && there !== asked.exactly) {
    return `${asked.exactly} ensembles are asked for, and there are ${there}`;
  }
  if ('atLeast' in asked && there < asked.atLeast) {
    return `at least ${asked.atLeast} ensembles are asked for, and there are ${there}`;
  }
  for (const { name, values } of ensembles) {
    if (values.length === 0) return `${name} has no values`;
    if (valuesPerEnsemble !== null && values.length !== valuesPerEnsemble) {
      return `${valuesPerEnsemble} values of each ensemble are asked for, and ${name} has ${values.length}`;
    }
    const missing = values.filter(({ percent }) => percent === null || !Number.isFinite(percent));
    if (missing.length > 0) {
      const [first] = missing;
      return `${name} has no value for ${first?.exercise ?? ''}, ${first?.probe ?? ''}`;
    }
  }
  return null;
}

function doubtsOf(requirement: Requirement, ensembles: readonly EnsembleValues[]): string[] {
  const doubts: string[] = [];
  const source = sourceDoubt(requirement);
  if (source !== null) doubts.push(source);
  const values = ensembles.flatMap((ensemble) => ensemble.values);
  const flagged = values.filter((value) => value.flagged).length;
  if (flagged > 0) doubts.push(`rests on flagged numbers: ${flagged} of ${values.length}`);
  for (const { name, review, doubtfulChecks } of ensembles) {
    if (doubtfulChecks.length > 0) doubts.push(`${name} rests on ${checkWords(doubtfulChecks)}`);
    if (review !== null) doubts.push(`${name} counts as ${reviewWords(review)}`);
  }
  const unreleased = unreleasedWords(ensembles);
  if (unreleased !== null) doubts.push(unreleased);
  if (ensembles.some(({ virtual }) => virtual)) doubts.push('virtual rig: no result of a real ensemble');
  return doubts;
}

function judgeRule(rule: Rule, ensembles: readonly EnsembleValues[]): RuleVerdict {
  switch (rule.rule) {
    case 'rank': {
      const values = (
        rule.of === 'single-values'
          ? ensembles.flatMap(percents)
          : ensembles.map((ensemble) => mean(percents(ensemble)))
      ).sort((a, b) => a - b);
      if (values.length !== rule.among) {
        return notEvaluated(rule, `the rule is about ${rule.among} values, and there are ${values.length}`);
      }
      const within = values.filter((value) => holds(value, rule.limitPercent, rule.equality) === true).length;
      const open = values.filter((value) => holds(value, rule.limitPercent, rule.equality) === null).length;
      if (within < rule.atLeast && within + open >= rule.atLeast) return notEvaluated(rule, equalToLimit);
      const ranked = values[rule.atLeast - 1] ?? Number.NaN;
      const because =
        `${within} of ${values.length} hold the limit of ${rule.limitPercent} %, ${rule.atLeast} are asked for; ` +
        `number ${rule.atLeast} from below is ${shown(ranked)} %`;
      return { rule, verdict: within >= rule.atLeast ? 'passed' : 'failed', because, class: null };
    }
    case 'highest-exercise-mean':
    case 'overall-mean': {
      const highest = rule.rule === 'overall-mean' ? null : highestExercise(ensembles);
      const value = highest?.percent ?? mean(ensembles.flatMap(percents));
      const name = highest === null ? 'the mean of all values' : `the highest exercise mean, of ${highest.exercise},`;
      const held = holds(value, rule.limitPercent, rule.equality);
      if (held === null) return notEvaluated(rule, equalToLimit);
      const because = `${name} is ${shown(value)} %, the limit ${rule.limitPercent} %`;
      return { rule, verdict: held ? 'passed' : 'failed', because, class: null };
    }
    case 'classes': {
      const highest = highestExercise(ensembles);
      const overall = mean(ensembles.flatMap(percents));
      const found = classOf(rule, highest.percent, overall);
      if (found === undefined) return notEvaluated(rule, equalToLimit);
      const because =
        `the highest exercise mean, of ${highest.exercise}, is ${shown(highest.percent)} %, the mean of all values ` +
        `${shown(overall)} %` + (overall > 0 ? `, protection factor ${shown(100 / overall)}` : '');
      return { rule, verdict: found === null ? 'failed' : 'passed', because, class: found };
    }
  }
}

/**
 * Best class for which both limits hold; null for none; undefined where a value is exactly a limit, the source does not
 * say what then, and the class depends on it.
 */
export function classOf(
  rule: Extract<Rule, { rule: 'classes' }>,
  highestExercisePercent: number,
  overallPercent: number,
): string | null | undefined {
  for (const entry of rule.classes) {
    const highest = holds(highestExercisePercent, entry.highestExercisePercent, rule.equality);
    const overall = holds(overallPercent, entry.overallPercent, rule.equality);
    if (highest === true && overall === true) return entry.class;
    if (highest !== false && overall !== false) return undefined;
  }
  return null;
}

const equalToLimit = 'a value is exactly the limit, and the source does not say whether that passes';

/** Null where the value is exactly the limit and the source does not say. */
export function holds(value: number, limit: number, equality: Equality): boolean | null {
  if (value !== limit) return value < limit;
  return equality === 'not-stated' ? null : equality === 'passes';
}

function highestExercise(ensembles: readonly EnsembleValues[]): {
  readonly exercise: string;
  readonly percent: number;
} {
  const byExercise = new Map<string, number[]>();
  for (const { exercise, percent } of ensembles.flatMap(({ values }) => values)) {
    byExercise.set(exercise, [...(byExercise.get(exercise) ?? []), percent ?? Number.NaN]);
  }
  const means = [...byExercise].map(([exercise, values]) => ({ exercise, percent: mean(values) }));
  return means.reduce((worst, candidate) => (candidate.percent > worst.percent ? candidate : worst));
}

function percents({ values }: EnsembleValues): number[] {
  return values.map(({ percent }) => percent ?? Number.NaN);
}

function mean(values: readonly number[]): number {
  return sumOf(values) / values.length;
}

function notEvaluated(rule: Rule, because: string): RuleVerdict {
  return { rule, verdict: 'not-evaluated', because, class: null };
}

function shown(value: number): string {
  return String(Number(value.toPrecision(4)));
}
