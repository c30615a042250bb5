import { ChambersideError } from '../../model/error-code.ts';
import type { RequirementStanding } from '../../study/requirement-standing.ts';
import type { Known, StudySummary } from '../../study/study-summary.ts';
import { answersChangeAt, askedInVain, type RatioAnswer, whatIfDifference, type WhatIf } from '../../study/what-if.ts';
import { readStudyRows, readStudyRowsBeside, type StudyRows } from '../store/study-rows.ts';
import type { OptionDescription, OptionValues } from './command.ts';
import { verdictWords } from './judge.ts';
import { formatPercent, formatTable } from './table.ts';

export const whatIfOptions: readonly OptionDescription[] = [
  { name: 'without', value: 'IDS', help: 'what-if: leave these trials out, with commas between; nothing is written' },
  {
    name: 'by-method',
    value: 'NAME',
    help: 'what-if: count every trial that holds an assessment by this method by that one; nothing is written',
  },
];

/** The study as it stands and by the method that is asked for, both of one moment. @throws `usage-bad-value`. */
export function rowsAsked(study: string, values: OptionValues): ReturnType<typeof readStudyRowsBeside> {
  const wanted = values.optional('by-method');
  return readStudyRowsBeside(study, wanted === undefined ? null : methodIn(readStudyRows(study), wanted));
}

/** What is asked with something otherwise; null where nothing is. @throws ChambersideError `usage-bad-value`. */
export function askedWhatIf(values: OptionValues, rows: StudyRows, standing: StudySummary): WhatIf | null {
  const [named, wanted] = [values.optional('without'), values.optional('by-method')];
  if (named === undefined && wanted === undefined) return null;
  const without = [...new Set((named ?? '').split(',').map((word) => word.trim()))].filter((word) => word !== '');
  if (named !== undefined && without.length === 0) {
    throw new ChambersideError('usage-bad-value', 'no trial is named', '--without', inFigures(standing));
  }
  const whatIf = { without, method: wanted === undefined ? null : methodIn(rows, wanted) };
  const inVain = askedInVain(rows.trials, standing, whatIf);
  if (inVain.length > 0) {
    const what = `in no figure, so that no mean and no ratio hangs on it: ${inVain.join(', ')}`;
    throw new ChambersideError('usage-bad-value', what, '--without', inFigures(standing));
  }
  return whatIf;
}

function inFigures({ roster }: StudySummary): string {
  const there = roster.filter(({ leftOut }) => leftOut === null).map(({ trial }) => trial);
  const more = there.length > 12 ? ` and ${there.length - 12} more` : '';
  return `In the figures are: ${there.slice(0, 12).join(', ')}${more}.`;
}

/** By its name alone where there is one version of it. */
function methodIn({ methods }: StudyRows, wanted: string): string {
  const found = methods.filter(({ method }) => method === wanted || method.startsWith(`${wanted}, version `));
  const [only] = found;
  if (only !== undefined && found.length === 1) return only.method;
  const what = found.length === 0 ? `no trial holds an assessment by ${wanted}` : `${wanted} has several versions here`;
  const there = methods.map(({ method, trials }) => `“${method}” of ${trials}`).join(', ');
  throw new ChambersideError('usage-bad-value', what, '--by-method', `Assessed trials by method: ${there}.`);
}

interface Side {
  readonly summary: StudySummary;
  readonly standings: readonly RequirementStanding[];
}

/** The study as it stands beside the what-if, with the difference, for a person. */
export function formatWhatIf(rows: StudyRows, asked: WhatIf, standing: Side, whatIf: Side): string {
  const difference = whatIfDifference(standing.summary, whatIf.summary);
  const label = (probe: string | null): string =>
    probe === null ? 'whole trial' : (rows.probes.find((one) => one.probe === probe)?.label ?? probe);
  const number = (value: number | null): string => (value === null ? '–' : formatPercent(value));
  const factor = (value: number | null): string => (value === null ? '–' : `× ${value.toFixed(3)}`);
  const interval = (side: StudySummary, probe: string | null, lower: string, upper: string): string => {
    const ratio = side.scopes
      .find((scope) => scope.probe === probe)
      ?.ratios.find((one) => one.lower === lower && one.upper === upper)?.ratio;
    return knownText(ratio, ({ low, high }) => `${formatPercent(low)} to ${formatPercent(high)}`);
  };
  const table = difference.places.flatMap(({ probe, means, ratios }) => [
    ...means.map((mean) => [
      label(probe),
      `mean of ${mean.ensemble}, %`,
      ...[number(mean.standing), '', number(mean.whatIf), '', factor(mean.factor), ''],
    ]),
    ...ratios.map((ratio) => [
      ...[label(probe), `${ratio.upper} / ${ratio.lower}`],
      ...[number(ratio.standing), interval(standing.summary, probe, ratio.lower, ratio.upper)],
      ...[number(ratio.whatIf), interval(whatIf.summary, probe, ratio.lower, ratio.upper)],
      factor(ratio.factor),
      answerText(ratio.standingAnswer, ratio.whatIfAnswer),
    ]),
  ]);
  const changes = answersChangeAt(difference);
  return [
    `WHAT-IF of ${rows.study.name}. Nothing is written: the study stays as it stands.`,
    ...(asked.without.length === 0 ? [] : [`  left out: ${asked.without.join(', ')}`]),
    ...(asked.method === null
      ? []
      : [`  by “${asked.method}”: ${difference.otherwiseAssessed} of ${difference.counted} trials count otherwise`]),
    `  in the figures as it stands ${difference.counted}, here ${whatIf.summary.counts.counted}`,
    changes.length > 0
      ? `  What the study says of the ensembles changes: ${changes.map(label).join(', ')}.`
      : '  What the study says of the ensembles stays the same; only the numbers move.',
    ...whatIf.summary.marks.map(({ text }) => `  ! ${text}`),
    '',
    formatTable(
      [
        { heading: 'where', align: 'left' },
        { heading: 'what', align: 'left' },
        { heading: 'stands', align: 'right' },
        { heading: 'interval', align: 'left' },
        { heading: 'what-if', align: 'right' },
        { heading: 'interval', align: 'left' },
        { heading: 'difference', align: 'right' },
        { heading: '', align: 'left' },
      ],
      table,
    ),
    ...difference.shares.map(
      ({ ensemble, limitPercent, standing: before, whatIf: after }) =>
        `\n${ensemble}, whole trials ≤ ${limitPercent} %: ${keptText(before)}; what-if ${keptText(after)}`,
    ),
    ...standing.standings.map(({ ensemble, verdict }) => {
      const after = whatIf.standings.find((one) => one.ensemble === ensemble)?.verdict;
      const would = after === undefined ? 'no trial of it is left' : verdictWords[after.verdict];
      return `\n${ensemble}: ${verdictWords[verdict.verdict]}; what-if ${would}`;
    }),
  ].join('\n');
}

function answerText(standing: RatioAnswer, whatIf: RatioAnswer): string {
  return standing === whatIf ? '' : `${answerWords[standing]} → ${answerWords[whatIf]}`;
}

const answerWords: Readonly<Record<RatioAnswer, string>> = {
  'upper-leaks-more': 'leaks more',
  'lower-leaks-more': 'leaks less',
  'not-told-apart': 'not told apart',
  'no-ratio': 'no ratio',
};

function knownText<Figure>(known: Known<Figure> | undefined, text: (figure: Figure) => string): string {
  return known?.known === true ? text(known.figure) : '–';
}

function keptText(kept: { readonly passed: number; readonly count: number } | null): string {
  return kept === null ? 'cannot be told' : `${kept.passed} of ${kept.count} subjects`;
}
