import { type Requirement, sourceDoubt } from '../study/requirement.ts';
import type { RequirementStanding } from '../study/requirement-standing.ts';
import type { Known, StudySummary } from '../study/study-summary.ts';
import { significant } from '../model/number-text.ts';
import type { Block, Section, TableCell, Words } from './document.ts';
import { given, plain, strong, textOf, words } from './document.ts';
import { counted, nbsp, percentFull, percentShort } from './numbers.ts';
import { probeFigure } from './study-figure.ts';
import { mostCares, verdictBlocks, verdictsOf } from './study-first-page.ts';
import type { StudyReportSource } from './study-source.ts';
import { cellOf, keptText, probabilityText, shareText, times } from './study-words.ts';

type Labels = (probe: string | null) => string;

/** What whoever reads the figures must know, where the first page has no room for all of it; null where it has. */
export function knowSection(summary: StudySummary): Section | null {
  const { marks } = summary;
  if (marks.length <= mostCares(summary)) return null;
  const items = marks.map(({ text }) => plain(text));
  return {
    ...{ id: 'know', heading: 'What to know' },
    blocks: [{ block: 'list', items, care: true }],
  };
}

/** Whole trials and every probe by ensemble, as a picture and as numbers. */
export function ensemblesSection({ probes }: StudyReportSource, summary: StudySummary, label: Labels): Section {
  const { scopes, questions, ensembles } = summary;
  const figure = probeFigure(summary, probes);
  const numbered = ensembles.map((name, index) => words`${index + 1} ${given(name)}`);
  const blocks: Block[] = [];
  if (figure !== null) {
    blocks.push(
      {
        block: 'paragraph',
        words: numbered.flatMap((one, index) => [...(index === 0 ? [] : plain(' · ')), ...one]),
      },
      {
        block: 'figure',
        figure,
        caption:
          'Inward leakage of each trial at each probe, log scale. Filled and hollow in turn by ensemble; upright ' +
          'bar: geometric mean with its interval. Dotted ground: below the detection limit.',
      },
    );
  }
  const figures = scopes.flatMap(({ probe, ensembles: own }) => own.map((one) => ({ probe, ...one })));
  const rows = figures.map(({ ensemble, subjects, trials, summary: of, tolerance }): TableCell[] => [
    { words: [given(ensemble)] },
    cellOf(`${subjects} / ${trials}`),
    cellOf(of.known ? String(of.figure.below) : '–'),
    cellOf(of.known ? percentFull(of.figure.geometricMean) : '–'),
    cellOf(of.known ? `${percentFull(of.figure.geometricMeanLow)} – ${percentFull(of.figure.geometricMeanHigh)}` : '–'),
    cellOf(of.known ? `×${nbsp}${significant(of.figure.geometricDeviation, 3)}` : '–'),
    cellOf(tolerance.known ? percentFull(tolerance.figure) : '–'),
  ]);
  blocks.push({
    block: 'table',
    caption: `Leakage, percent of the challenge, with ${shareText(questions.confidence)} intervals`,
    columns: [
      { heading: 'Ensemble', align: 'left', width: 3 },
      { heading: 'Subjects / trials', align: 'right', width: 1.7 },
      { heading: 'Below limit', align: 'right', width: 1.3 },
      { heading: 'Geometric mean', align: 'right', width: 1.8 },
      { heading: 'Interval', align: 'right', width: 2.4 },
      { heading: 'Deviation', align: 'right', width: 1.5 },
      { heading: 'Tolerance limit', align: 'right', width: 1.7 },
    ],
    rows,
    groups: groupsOf(figures.map(({ probe }) => label(probe))),
    totals: [],
    notes: [
      plain(
        `Tolerance limit: below it lie ${shareText(questions.coverage)} of such wearers, ` +
          `${shareText(questions.toleranceConfidence)} sure if leakage is lognormal. Deviation: geometric, a factor; ` +
          'about two thirds lie within it, up or down. Several trials of a subject in an ensemble count as one ' +
          'value, their geometric mean.',
      ),
      ...reasons([
        ...figures.map((one) => [`${label(one.probe)}, ${one.ensemble}`, one.summary] as const),
        ...figures.map((one) => [`Tolerance limit, ${label(one.probe)}, ${one.ensemble}`, one.tolerance] as const),
      ]),
    ],
  });
  return { id: 'ensembles', heading: 'Every probe', blocks };
}

const methodWords = {
  paired: 'paired by subject',
  'paired-censored': 'paired, some below the limit: approximate',
  unpaired: 'different subjects (Welch)',
} as const;

/** Every ratio of two ensembles, whole and by probe; null where there is one ensemble only. */
export function ratiosSection({ scopes, questions }: StudySummary, label: Labels): Section | null {
  const all = scopes.flatMap(({ probe, ratios }) => ratios.map((row) => ({ probe, ...row })));
  if (all.length === 0) return null;
  const rows = all.map(({ upper, lower, ratio }): TableCell[] => [
    { words: words`${given(upper)} / ${given(lower)}` },
    ...(ratio.known
      ? [
          cellOf(`×${nbsp}${times(ratio.figure.ratio)}`),
          cellOf(`${times(ratio.figure.low)} – ${times(ratio.figure.high)}`),
          cellOf(probabilityText(ratio.figure.probability)),
          cellOf(String(ratio.figure.subjects)),
          cellOf(methodWords[ratio.figure.method]),
        ]
      : ['–', '–', '–', '–', 'no ratio'].map(cellOf)),
  ]);
  return {
    ...{ id: 'ratios', heading: 'Ratios', joined: true },
    blocks: [
      {
        block: 'table',
        caption: `Ratios of geometric means; ${shareText(questions.confidence)} sure of all at one place together`,
        columns: [
          { heading: 'Ratio', align: 'left', width: 4 },
          { heading: '×', align: 'right', width: 1.4 },
          { heading: 'Interval', align: 'right', width: 2 },
          { heading: 'p', align: 'right', width: 1.3 },
          { heading: 'Subjects', align: 'right', width: 1.4 },
          { heading: 'How', align: 'left', width: 3 },
        ],
        rows,
        groups: groupsOf(all.map(({ probe }) => label(probe))),
        totals: [],
        notes: [
          plain('p: chance of a ratio as far from 1 where both leak alike, times the number of ratios at one place.'),
          ...reasons(all.map((one) => [`${label(one.probe)}, ${one.upper} / ${one.lower}`, one.ratio] as const)),
        ],
      },
    ],
  };
}

/** Shares that keep a limit, and the requirement; null where nothing was asked. */
export function limitsSection(
  summary: StudySummary,
  requirement: Requirement | null,
  standings: readonly RequirementStanding[],
): Section | null {
  const { shares, questions } = summary;
  if (shares.length === 0 && requirement === null) return null;
  const blocks: Block[] = verdictBlocks(verdictsOf(summary, standings));
  if (requirement !== null) blocks.push(...requirementBlocks(requirement, standings));
  if (shares.length > 0) {
    blocks.push({
      block: 'table',
      caption: 'Subjects of whom every trial keeps a limit on the whole trial',
      columns: [
        { heading: 'Ensemble', align: 'left', width: 3 },
        { heading: 'Limit', align: 'right', width: 1.4 },
        { heading: 'Keep it', align: 'right', width: 2.2 },
        { heading: `${shareText(questions.confidence)} interval`, align: 'right', width: 2.6 },
        { heading: 'At least', align: 'right', width: 1.5 },
        { heading: 'Above it', align: 'left', width: 4 },
      ],
      rows: shares.map(({ ensemble, limitPercent, share, exceeding, open }) => [
        { words: [given(ensemble)] },
        cellOf(`≤${nbsp}${percentShort(limitPercent)}`),
        cellOf(`${keptText(share)}${open === 0 ? '' : `, ${open} open`}`),
        cellOf(share === null ? '–' : `${shareText(share.low)} to ${shareText(share.high)}`),
        cellOf(share === null ? '–' : shareText(share.atLeast)),
        { words: exceeding.length === 0 ? plain('none') : [given(exceeding.join(', '))] },
      ]),
      totals: [],
      notes: [
        plain(
          'Interval and bound of the share of all such wearers, exact (Clopper and Pearson). They hold whatever ' +
            'those did of whom it cannot be told.',
        ),
      ],
    });
  }
  return { id: 'limits', heading: 'Limits', blocks };
}

function requirementBlocks(requirement: Requirement, standings: readonly RequirementStanding[]): Block[] {
  const doubt = sourceDoubt(requirement);
  const told: Words = [
    strong(requirement.title),
    ...plain(`. ${requirement.edition}. Source: ${requirement.source}.`),
    ...(doubt === null ? [] : plain(` ${doubt.charAt(0).toUpperCase()}${doubt.slice(1)}.`)),
  ];
  const said = new Map<string, string[]>();
  for (const { ensemble, verdict } of standings) {
    for (const one of verdict.doubts) said.set(one, [...(said.get(one) ?? []), ensemble]);
  }
  const rules = standings.flatMap(({ ensemble, verdict, shares }): Words[] =>
    verdict.rules.map((rule, index) => {
      const kept = keptText(shares[index]?.share ?? null);
      const why = `${rule.because.charAt(0).toUpperCase()}${rule.because.slice(1)}`;
      return words`${given(ensemble)}: ${verdictText[rule.verdict]}. ${why}. Trial by trial: ${kept} keep it.`;
    }),
  );
  // Rules that cannot be held against these trials say the same of each: once is enough.
  const items = [...new Map(rules.map((rule) => [textOf(rule), rule])).values()];
  const doubts = [...said].map(([one, ensembles]) =>
    ensembles.length === standings.length
      ? words`${given(`${one.charAt(0).toUpperCase()}${one.slice(1)}`)}.`
      : words`${given(ensembles.join(', '))}: ${given(one)}.`,
  );
  return [
    { block: 'paragraph', words: told },
    { block: 'list', items },
    ...(doubts.length === 0 ? [] : [{ block: 'list', items: doubts, care: true } as const]),
  ];
}

const verdictText = { passed: 'met', failed: 'not met', 'not-evaluated': 'not evaluated' } as const;

/** Components of variance and agreement of repeats, over whole trials. */
export function scatterSection({ scopes, repeats, questions }: StudySummary): Section {
  const components = scopes[0]?.components;
  const blocks: Block[] = [];
  if (components?.known === true) {
    const { figure } = components;
    const spread = (variance: number): string => `×${nbsp}${significant(Math.exp(Math.sqrt(variance)), 3)}`;
    const f = (value: number): string => significant(value, 3);
    const rest = figure.interaction === null ? 'Trial to trial, with the interaction' : 'Trial to trial';
    blocks.push({
      block: 'table',
      caption: 'Components of variance of whole trials, as factors',
      columns: [
        { heading: 'Between', align: 'left', width: 4 },
        { heading: 'Factor', align: 'right', width: 2 },
        { heading: 'F', align: 'right', width: 2 },
        { heading: 'p', align: 'right', width: 2 },
      ],
      rows: [
        ['Ensembles', spread(figure.ensemble), f(figure.fEnsemble), probabilityText(figure.probabilityEnsemble)],
        ['Subjects', spread(figure.subject), f(figure.fSubject), probabilityText(figure.probabilitySubject)],
        ...(figure.interaction === null ? [] : [['Subject with ensemble', spread(figure.interaction), '–', '–']]),
        [rest, spread(figure.trial), '–', '–'],
      ].map((row) => row.map(cellOf)),
      totals: [],
      notes: [
        plain(
          `Two-way random analysis of the logarithms, ${counted(figure.subjects, 'subject', 'subjects')} who wore ` +
            `all ${figure.ensembles} ensembles` +
            (figure.subjectsLeftOut === 0 ? '' : `; ${figure.subjectsLeftOut} left out who did not`) +
            (figure.averaged ? '; geometric means, because trials differ in number' : '') +
            '. A factor says that about two thirds lie within it, up or down; × 1 that nothing was seen.',
        ),
      ],
    });
  } else {
    blocks.push({ block: 'paragraph', words: plain(`No components of variance. ${components?.because ?? ''}`) });
  }
  const { known } = repeats;
  const sure = shareText(questions.confidence);
  const factor = (logarithm: number): string => `×${nbsp}${significant(Math.exp(logarithm), 3)}`;
  blocks.push({
    block: 'paragraph',
    words: plain(
      known
        ? `A second trial of a subject against the first: ${factor(repeats.figure.bias)}, from ` +
            `${counted(repeats.figure.pairs, 'subject', 'subjects')}; one further pair lies within ` +
            `${factor(repeats.figure.nextLow)} to ${factor(repeats.figure.nextHigh)}, ${sure} sure if their ` +
            'logarithms are normal.'
        : `A second trial of a subject against the first: ${repeats.because}`,
    ),
  });
  return { id: 'scatter', heading: 'Where the scatter comes from', joined: true, blocks };
}

/** Rows that share a name one after the other stand under it. */
function groupsOf(names: readonly string[]): { readonly from: number; readonly heading: Words }[] {
  return names.flatMap((name, index) => (names[index - 1] === name ? [] : [{ from: index, heading: [given(name)] }]));
}

/** Why figures are not there, each reason once. */
function reasons(figures: readonly (readonly [string, Known<unknown>])[]): Words[] {
  const byReason = new Map<string, string[]>();
  for (const [what, figure] of figures) {
    if (!figure.known) byReason.set(figure.because, [...(byReason.get(figure.because) ?? []), what]);
  }
  return [...byReason].map(([because, whats]) => words`${given(whats.join('; '))}: ${because}`);
}
