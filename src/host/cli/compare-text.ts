import type { StudyBootstrap } from '../../study/bootstrap-study.ts';
import type { LognormalSummary } from '../../study/lognormal.ts';
import type { PassingShare } from '../../study/passing-share.ts';
import { type Requirement } from '../../study/requirement.ts';
import type { RequirementStanding } from '../../study/requirement-standing.ts';
import type { Known, ScopeSummary, StudySummary } from '../../study/study-summary.ts';
import { voidingWords } from '../../model/voiding.ts';
import { checkWords, reviewWords, type RosterRow } from '../../study/study-trial.ts';
import type { StudyRows } from '../store/study-rows.ts';
import { verdictWords } from './judge.ts';
import { formatPercent, formatTable } from './table.ts';

/** A study for a person: what must be known first, then roster, figures, ratios, components and verdicts. */
export function formatStudy(
  rows: StudyRows,
  summary: StudySummary,
  requirement: Requirement | null,
  standings: readonly RequirementStanding[],
): string {
  const { counts } = summary;
  return [
    `${rows.study.name}: ${counts.trials} trials; sealed ${counts.sealed}, assessed ${counts.assessed}, ` +
      `flagged ${counts.flagged}, void ${counts.void}, without result ${counts.noResult}, virtual ${counts.virtual}; ` +
      `in the figures ${counts.counted}, of ${counts.subjects} subjects`,
    ...summary.marks.map(({ text }) => `  ! ${text}`),
    '',
    rosterTable(summary),
    ...(counts.counted === 0 ? [] : figures(rows, summary)),
    ...(requirement === null ? [] : ['', ...requirementLines(requirement, standings, summary)]),
  ].join('\n');
}

const leftOutWords = {
  void: 'void',
  'no-result': 'no value',
  'not-assessed': 'not assessed',
  virtual: 'left out',
  'not-above-zero': 'mean not above zero, no detection limit known',
  'what-if': 'left out: what-if',
} as const;

function rosterTable({ roster }: StudySummary): string {
  return formatTable(
    [
      { heading: 'trial', align: 'left' },
      { heading: 'subject', align: 'left' },
      { heading: 'ensemble', align: 'left' },
      { heading: 'leakage, %', align: 'right' },
      { heading: 'flagged', align: 'right' },
      { heading: 'missing', align: 'right' },
      { heading: '', align: 'left' },
    ],
    roster.map((row) => [
      row.trial,
      row.subject,
      row.ensemble,
      row.whole === null ? '–' : `${row.whole.below ? '< ' : ''}${formatPercent(row.whole.percent)}`,
      row.assessed ? `${row.cellsFlagged} of ${row.cells}` : '–',
      row.assessed ? String(row.cellsMissing) : '–',
      standingText(row),
    ]),
  );
}

function standingText({ leftOut, sealed, virtual, voided, releasedBy, review, doubtfulChecks }: RosterRow): string {
  return [
    ...(voided === null ? [] : [voidingWords(voided)]),
    ...(leftOut === null || voided !== null ? [] : [sealed ? leftOutWords[leftOut] : 'not sealed']),
    ...(virtual ? ['virtual rig'] : []),
    ...(doubtfulChecks.length === 0 ? [] : [`rests on ${checkWords(doubtfulChecks)}`]),
    ...(review === null ? [] : [reviewWords(review)]),
    ...(releasedBy === null ? [] : [`released by ${releasedBy}`]),
  ].join(', ');
}

function figures(rows: StudyRows, summary: StudySummary): string[] {
  const { questions, scopes, shares, repeats } = summary;
  const label = (probe: string | null): string =>
    probe === null ? 'whole trial' : (rows.probes.find((one) => one.probe === probe)?.label ?? probe);
  const sure = percentOf(questions.confidence);
  const compared = scopes.filter(({ ratios }) => ratios.length > 0);
  return [
    '',
    `Leakage in % of the challenge: geometric mean with its ${sure} interval, geometric deviation, and below what ` +
      `${percentOf(questions.coverage)} of such wearers lie, ${percentOf(questions.toleranceConfidence)} sure ` +
      'if leakage is lognormal',
    ensembleTable(scopes, label),
    ...reasons(
      scopes.flatMap(({ probe, ensembles }) =>
        ensembles.map((one) => [`${label(probe)}, ${one.ensemble}`, one.summary] as const),
      ),
    ),
    ...(compared.length === 0
      ? []
      : [
          '',
          `Ratios of geometric means of these subjects; ${sure} sure of all ratios at one place together`,
          ratioTable(compared, label),
          ...reasons(
            compared.flatMap(({ probe, ratios }) =>
              ratios.map(({ lower, upper, ratio }) => [`${label(probe)}, ${upper} / ${lower}`, ratio]),
            ),
          ),
        ]),
    ...shares.map(
      ({ ensemble, limitPercent, share, open, exceeding }) =>
        `\n${ensemble}, whole trials ≤ ${limitPercent} %: ${shareText(share, open, sure)}` +
        (exceeding.length === 0 ? '' : `; above: ${exceeding.join(', ')}`),
    ),
    '',
    ...componentLines(scopes[0]?.components),
    repeats.known
      ? `Second trial against first, one pair each of ${repeats.figure.pairs} subjects: × ` +
        `${factor(repeats.figure.bias)}; one further pair within × ${factor(repeats.figure.nextLow)} to × ` +
        `${factor(repeats.figure.nextHigh)}, ${sure} sure if their logarithms are normal`
      : `Second trial against first: ${repeats.because}`,
  ];
}

function ensembleTable(scopes: readonly ScopeSummary[], label: (probe: string | null) => string): string {
  return formatTable(
    [
      { heading: 'where', align: 'left' },
      { heading: 'ensemble', align: 'left' },
      { heading: 'subjects', align: 'right' },
      { heading: 'trials', align: 'right' },
      { heading: '< limit', align: 'right' },
      { heading: 'mean', align: 'right' },
      { heading: 'from', align: 'right' },
      { heading: 'to', align: 'right' },
      { heading: 'deviation', align: 'right' },
      { heading: 'tolerance', align: 'right' },
    ],
    scopes.flatMap(({ probe, ensembles }) =>
      ensembles.map(({ ensemble, trials, subjects, summary, tolerance }) => [
        label(probe),
        ensemble,
        String(subjects),
        String(trials),
        ...(summary.known ? summaryCells(summary.figure) : ['–', '–', '–', '–', '–']),
        tolerance.known ? formatPercent(tolerance.figure) : '–',
      ]),
    ),
  );
}

function summaryCells(figure: LognormalSummary): string[] {
  return [
    String(figure.below),
    formatPercent(figure.geometricMean),
    formatPercent(figure.geometricMeanLow),
    formatPercent(figure.geometricMeanHigh),
    `× ${figure.geometricDeviation.toFixed(2)}`,
  ];
}

const methodWords = {
  paired: 'paired by subject',
  'paired-censored': 'paired, some below the limit: approximate',
  unpaired: 'different subjects (Welch)',
} as const;

function ratioTable(scopes: readonly ScopeSummary[], label: (probe: string | null) => string): string {
  return formatTable(
    [
      { heading: 'where', align: 'left' },
      { heading: 'ratio', align: 'left' },
      { heading: '×', align: 'right' },
      { heading: 'from', align: 'right' },
      { heading: 'to', align: 'right' },
      { heading: 'p', align: 'right' },
      { heading: 'subjects', align: 'right' },
      { heading: 'how', align: 'left' },
    ],
    scopes.flatMap(({ probe, ratios }) =>
      ratios.map(({ lower, upper, ratio }) => [
        label(probe),
        `${upper} / ${lower}`,
        ...(ratio.known
          ? [
              formatPercent(ratio.figure.ratio),
              formatPercent(ratio.figure.low),
              formatPercent(ratio.figure.high),
              probabilityText(ratio.figure.probability),
              String(ratio.figure.subjects),
              methodWords[ratio.figure.method],
            ]
          : ['–', '–', '–', '–', '–', '–']),
      ]),
    ),
  );
}

/** Intervals by drawing subjects again, for whoever doubts that leakage is lognormal. */
export function formatBootstrap(rows: StudyRows, ratios: readonly StudyBootstrap[], confidence: number): string {
  const label = (probe: string | null): string =>
    probe === null ? 'whole trial' : (rows.probes.find((one) => one.probe === probe)?.label ?? probe);
  const [first] = ratios.flatMap(({ drawn }) => (drawn.known ? [drawn.figure] : []));
  const how = first === undefined ? '' : `: ${first.draws} draws, seed ${first.seed}`;
  return [
    '',
    `Ratios by drawing subjects again (percentile bootstrap)${how}; ${percentOf(confidence)}, ` +
      'all at one place together',
    formatTable(
      [
        { heading: 'where', align: 'left' },
        { heading: 'ratio', align: 'left' },
        { heading: 'from', align: 'right' },
        { heading: 'to', align: 'right' },
      ],
      ratios.map(({ probe, lower, upper, drawn }) => [
        label(probe),
        `${upper} / ${lower}`,
        ...(drawn.known ? [formatPercent(drawn.figure.low), formatPercent(drawn.figure.high)] : ['–', '–']),
      ]),
    ),
    ...reasons(ratios.map(({ probe, lower, upper, drawn }) => [`${label(probe)}, ${upper} / ${lower}`, drawn])),
    '  Needs no lognormal leakage, and is too narrow with few subjects: a check of the intervals above, no better one.',
  ].join('\n');
}

function componentLines(components: ScopeSummary['components'] | undefined): string[] {
  if (components === undefined) return [];
  if (!components.known) return [`Components of variance, whole trial: ${components.because}`];
  const { figure } = components;
  const spread = (variance: number): string => `× ${Math.exp(Math.sqrt(variance)).toFixed(2)}`;
  const tested = (f: number, probability: number): string => `F ${f.toFixed(2)}, p ${probabilityText(probability)}`;
  const rest = figure.interaction === null ? 'trial (with the interaction)' : 'trial';
  const averaged = figure.averaged ? '; geometric means, because trials differ in number' : '';
  return [
    `Components of variance, whole trial, ${figure.subjects} subjects by ${figure.ensembles} ensembles` +
      `${figure.subjectsLeftOut === 0 ? '' : `, ${figure.subjectsLeftOut} left out`}${averaged}; as factors:`,
    `  ensemble ${spread(figure.ensemble)} (${tested(figure.fEnsemble, figure.probabilityEnsemble)})`,
    `  subject ${spread(figure.subject)} (${tested(figure.fSubject, figure.probabilitySubject)})`,
    ...(figure.interaction === null ? [] : [`  subject with ensemble ${spread(figure.interaction)}`]),
    `  ${rest} ${spread(figure.trial)}`,
  ];
}

function requirementLines(
  requirement: Requirement,
  standings: readonly RequirementStanding[],
  { questions }: StudySummary,
): string[] {
  const sure = percentOf(questions.confidence);
  return [
    requirement.title,
    `${requirement.edition}; source: ${requirement.source}`,
    ...standings.flatMap(({ ensemble, verdict, shares }) => [
      `  ${ensemble}: ${[verdictWords[verdict.verdict], ...verdict.doubts].join(' – ')}`,
      ...verdict.rules.map((rule, index) => {
        const { share = null, open = 0 } = shares[index] ?? {};
        return `    ${verdictWords[rule.verdict]}: ${rule.because}; each for itself: ${shareText(share, open, sure)}`;
      }),
    ]),
  ];
}

function shareText(share: PassingShare | null, open: number, sure: string): string {
  if (share === null) return open === 0 ? 'no subject can be told' : `of none of ${open} subjects it can be told`;
  const untold = open === 0 ? '' : `; of ${open} more it cannot be told, and the bounds hold either way`;
  return (
    `${share.passed} of ${share.count} subjects, ${percentOf(share.low)} to ${percentOf(share.high)} (${sure}), ` +
    `at least ${percentOf(share.atLeast)}${untold}`
  );
}

/** Why figures are not there, each reason once. */
function reasons(figures_: readonly (readonly [string, Known<unknown>])[]): string[] {
  const byReason = new Map<string, string[]>();
  for (const [what, figure] of figures_) {
    if (!figure.known) byReason.set(figure.because, [...(byReason.get(figure.because) ?? []), what]);
  }
  return [...byReason].map(([because, whats]) => `  – ${whats.join('; ')}: ${because}`);
}

function factor(logarithm: number): string {
  return Math.exp(logarithm).toFixed(2);
}

function probabilityText(value: number): string {
  return value < 0.001 ? '< 0.001' : value.toFixed(3);
}

function percentOf(share: number): string {
  return `${Number((100 * share).toFixed(1))} %`;
}
