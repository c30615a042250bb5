import { ChambersideError } from '../../model/error-code.ts';
import { allocate, type Allocation } from '../../study/plan/allocation.ts';
import {
  chanceBelowLimit,
  type PlannedLimit,
  subjectsBelowLimit,
  subjectsForShare,
} from '../../study/plan/limit-plan.ts';
import {
  contrastPower,
  type ContrastPower,
  meanHalfWidth,
  type PlannedContrast,
  subjectsForPower,
  subjectsForWidth,
} from '../../study/plan/power.ts';
import { type ExpectedScatter, scatterOf, type StudyDesign } from '../../study/plan/scatter.ts';
import { known, type Known, summariseStudy, usualQuestions } from '../../study/study-summary.ts';
import { isHeldAgainstLimits } from '../../study/study-trial.ts';
import { readStudyRows } from '../store/study-rows.ts';
import { outsideValidity } from '../../study/validity.ts';
import { programVersion } from '../version.ts';
import type { Command, OptionValues, Output } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { noteExit } from './note-doubt.ts';
import { formatStudyPlan } from './study-plan-text.ts';

interface ShownBy {
  readonly name: string;
  readonly subjects: number;
  readonly marks: readonly string[];
  /** Trials of it that are not what was recorded. */
  readonly altered: readonly string[];
}

/** Everything that the command has worked out. */
export interface StudyPlan {
  readonly ensembles: readonly string[];
  readonly design: StudyDesign;
  readonly trials: number;
  readonly scatter: ExpectedScatter;
  /** The study that has shown the scatter, with what must be known of it; null: it was given. */
  readonly shownBy: ShownBy | null;
  readonly confidence: number;
  readonly ratio: number;
  readonly chance: number;
  /** Null: no number up to the largest is enough, or there is nothing to compare. */
  readonly needed: ContrastPower | null;
  /** Absent: no width was asked for. `needed`: for it, in 8 of 10 studies; null: no number is enough. */
  readonly width?: { readonly halfWidth: number; readonly needed: ContrastPower | null };
  /** The number that was asked for, else the number needed; the allocation is for so many. In each group where
   *  subjects wear one ensemble only. */
  readonly subjects: number;
  readonly curve: readonly (ContrastPower & { readonly mean: number })[];
  readonly limit: {
    readonly limitPercent: number;
    readonly meanPercent: number;
    readonly coverage: number;
    readonly confidence: number;
    readonly needed: { readonly subjects: number; readonly chance: number } | null;
    /** With the number of subjects of the plan, or why it is not known. */
    readonly chance: Known<number>;
  } | null;
  /** Subjects who must all keep a limit, all but one, all but two, to prove the share. */
  readonly forShare: readonly (number | null)[];
  readonly share: { readonly share: number; readonly confidence: number };
  readonly seed: number;
  /** Or why there is none. */
  readonly allocation: Known<Allocation>;
}

const deviation = { least: 1, most: 100 };
const shareRange = { least: 0.501, most: 0.9999 };

export const studyPlanCommand: Command = {
  name: 'study-plan',
  summary: 'plan a study: who wears what in which order, how many subjects, how sure the answer will be',
  options: [
    { name: 'ensembles', value: 'NAMES', help: 'with commas between, at most 20', required: true },
    { name: 'study', value: 'FILE', help: 'an earlier study: the scatter that its whole trials have shown' },
    { name: 'subject-deviation', value: 'X', help: 'subject to subject, geometric, 1 to 100; 2: half to double' },
    { name: 'interaction-deviation', value: 'X', help: 'how unlike ensembles suit subjects, 1 to 100, default 1' },
    { name: 'trial-deviation', value: 'X', help: 'trial to trial of one subject, 1 to 100' },
    { name: 'ratio', value: 'X', help: 'ratio of leakages that is to be told from 1, 1.01 to 1000, default 2' },
    { name: 'chance', value: 'X', help: 'of telling it, and of a limit being kept, 0.501 to 0.9999, default 0.8' },
    { name: 'width', value: 'X', help: 'half of the interval of a ratio, × ÷, that is to be reached, 1.01 to 100' },
    { name: 'confidence', value: 'X', help: 'of all intervals together, 0.501 to 0.9999, default 0.95' },
    { name: 'trials', value: 'N', help: 'of each subject in an ensemble, 1 to 20, default 1' },
    { name: 'subjects', value: 'N', help: 'that you have, 3 to 1000; default what the ratio needs' },
    { name: 'design', value: 'WORD', help: 'crossed: everybody wears every ensemble (default); separate: one each' },
    { name: 'limit', value: 'PERCENT', help: 'leakage that wearers are to stay below, 0.0001 to 100' },
    { name: 'mean', value: 'PERCENT', help: 'geometric mean that is expected, 0.0001 to 100; with --limit' },
    { name: 'coverage', value: 'X', help: 'share of wearers, 0.501 to 0.9999, default 0.8' },
    { name: 'tolerance-confidence', value: 'X', help: 'of that share, 0.501 to 0.9999, default 0.9' },
    { name: 'seed', value: 'N', help: 'of the allocation, 0 to 2147483647, default 1' },
  ],
  notes: [
    'Give --study, or --subject-deviation and --trial-deviation. docs/guides/study-plan.md says what each figure is.',
    'Exit status 0: there is a number of subjects that is enough. 1: up to 1000 there is none; for --limit up to 300,',
    'or as many as the tolerance factor is known for.',
  ],
  run(values, output) {
    const plan = planOf(values, output);
    if (values.json) output.line(JSON.stringify({ program: programVersion, ...plan }));
    else output.line(formatStudyPlan(plan));
    const unmet = [
      plan.needed === null && plan.ensembles.length > 1 ? `no number of subjects tells a ratio of ${plan.ratio}` : null,
      plan.width?.needed === null ? 'no number of subjects reaches that width' : null,
      plan.shownBy === null || plan.shownBy.altered.length === 0
        ? null
        : `not what was recorded: ${plan.shownBy.altered.join(', ')}`,
      plan.limit?.needed === null ? 'no number of subjects keeps the limit with that chance' : null,
    ];
    noteExit(unmet, output);
    return Promise.resolve(unmet.every((one) => one === null) ? 0 : 1);
  },
};

function planOf(values: OptionValues, output: Output): StudyPlan {
  const ensembles = values.text('ensembles').split(',').map((name) => name.trim());
  if (ensembles.length > 20 || new Set(ensembles).size < ensembles.length || ensembles.includes('')) {
    const what = 'names of ensembles are missing, twice there or more than 20';
    throw outsideValidity(what, 'allocation', 'Give each a name of its own, at most 20.');
  }
  const design = values.oneOf<StudyDesign>('design', ['crossed', 'separate'], 'crossed');
  const trials = values.wholeNumber('trials', { least: 1, most: 20, otherwise: 1 });
  const { scatter, shownBy } = expectedScatter(values, trials, output);
  const confidence = values.number('confidence', { ...shareRange, otherwise: 0.95 });
  const ratio = values.number('ratio', { least: 1.01, most: 1000, otherwise: 2 });
  const chance = values.number('chance', { ...shareRange, otherwise: 0.8 });
  const coverage = values.number('coverage', { ...shareRange, otherwise: 0.8 });
  const toleranceConfidence = values.number('tolerance-confidence', { ...shareRange, otherwise: 0.9 });
  const seed = values.wholeNumber('seed', { least: 0, most: 2_147_483_647, otherwise: 1 });
  const ratios = Math.max(1, (ensembles.length * (ensembles.length - 1)) / 2);
  const planned: PlannedContrast = { scatter, design, trials, confidence, ratios };
  const needed = ensembles.length > 1 ? subjectsForPower(planned, ratio, chance) : null;
  const halfWidth = values.has('width') ? values.number('width', { least: 1.01, most: 100, otherwise: 2 }) : null;
  const limit = plannedLimit(values, { scatter, trials, coverage, confidence: toleranceConfidence });
  const limitNeeds = limit === null ? null : subjectsBelowLimit(limit, chance);
  const otherwise = needed?.subjects ?? limitNeeds?.subjects ?? 6;
  const subjects = values.wholeNumber('subjects', { least: 3, most: 1000, otherwise });
  return {
    ...{ ensembles, design, trials, scatter, shownBy, confidence, ratio, chance, needed, subjects },
    ...(halfWidth === null ? {} : { width: { halfWidth, needed: subjectsForWidth(planned, halfWidth) } }),
    curve: countsAround(subjects).map((count) => ({
      ...contrastPower(planned, ratio, count),
      mean: meanHalfWidth(planned, count).halfWidth,
    })),
    limit:
      limit === null
        ? null
        : {
            ...{ limitPercent: limit.limitPercent, meanPercent: limit.meanPercent, coverage },
            ...{ confidence: toleranceConfidence, needed: limitNeeds },
            chance: known(() => chanceBelowLimit(limit, subjects)),
          },
    forShare: [0, 1, 2].map((failures) => subjectsForShare(coverage, toleranceConfidence, failures)),
    share: { share: coverage, confidence: toleranceConfidence },
    seed,
    allocation: known(() =>
      allocate({
        ...{ ensembles, trials, design, seed },
        subjects: design === 'crossed' ? subjects : subjects * ensembles.length,
      }),
    ),
  };
}

/** A few numbers below and above, so that the price of one more can be seen. */
function countsAround(subjects: number): number[] {
  const counts = [0.5, 0.75, 1, 1.25, 1.5, 2, 3].map((share) => Math.round(subjects * share));
  return [...new Set(counts)].filter((count) => count >= 3 && count <= 1000);
}

function expectedScatter(
  values: OptionValues,
  planned: number,
  output: Output,
): { readonly scatter: ExpectedScatter; readonly shownBy: ShownBy | null } {
  const study = values.optional('study');
  const given = ['subject-deviation', 'interaction-deviation', 'trial-deviation'].filter((name) => values.has(name));
  const todo = 'Give --study, or --subject-deviation and --trial-deviation.';
  if (study !== undefined) {
    const [first] = given;
    if (first !== undefined) {
      throw new ChambersideError('usage-unknown-option', `--${first} and --study are two answers`, `--${first}`, todo);
    }
    const { trials, study: identity } = readStudyRows(study);
    const { roster, scopes, marks } = summariseStudy(trials, usualQuestions);
    const components = scopes[0]?.components;
    if (components?.known !== true) {
      const why = components?.because ?? 'No trial of it is in the figures.';
      const what = `the study shows no components of variance. ${why}`;
      throw new ChambersideError('outside-validity', what, study, 'Give the deviations instead of --study.');
    }
    const altered = roster
      .filter((row) => isHeldAgainstLimits(row) && !noteAltered(study, row.trial, output))
      .map(({ trial }) => trial);
    const { subjects } = components.figure;
    return {
      scatter: scatterOf(components.figure, planned),
      shownBy: { name: identity.name, subjects, marks: marks.map(({ text }) => text), altered },
    };
  }
  for (const name of ['subject-deviation', 'trial-deviation']) {
    if (given.includes(name)) continue;
    throw new ChambersideError('usage-unknown-option', `--${name} is missing`, 'chamberside study-plan', todo);
  }
  const of = (name: string): number => values.number(name, { ...deviation, otherwise: 1 });
  const scatter = {
    subject: of('subject-deviation'),
    interaction: of('interaction-deviation'),
    trial: of('trial-deviation'),
  };
  return { scatter, shownBy: null };
}

function plannedLimit(
  values: OptionValues,
  rest: Omit<PlannedLimit, 'limitPercent' | 'meanPercent'>,
): PlannedLimit | null {
  const [hasLimit, hasMean] = [values.has('limit'), values.has('mean')];
  if (!hasLimit && !hasMean) return null;
  if (hasLimit !== hasMean) {
    const what = `--${hasLimit ? 'mean' : 'limit'} is missing`;
    throw new ChambersideError('usage-unknown-option', what, 'chamberside study-plan', 'Give --limit and --mean.');
  }
  const of = (name: string): number => values.number(name, { least: 0.0001, most: 100, otherwise: 1 });
  return { ...rest, limitPercent: of('limit'), meanPercent: of('mean') };
}
