import type { RequirementStanding } from '../study/requirement-standing.ts';
import type { StudySummary } from '../study/study-summary.ts';
import { isHeldAgainstLimits } from '../study/study-trial.ts';
import type { Block, Section, TableCell, Verdict, Words } from './document.ts';
import { given, plain, strong, words } from './document.ts';
import { dayInWords } from './moments.ts';
import { counted, nbsp, percentFull, percentShort } from './numbers.ts';
import { isDense, wholeFigure } from './study-figure.ts';
import type { StudyReportSource } from './study-source.ts';
import { cellOf, doubtsOfRows, inDoubt, limitVerdict, ratioWords, shareText } from './study-words.ts';
import { reportWords } from './words.ts';

/** The first page is one page: more verdicts than this are said in lines, more ensembles have no table. */
const mostVerdicts = 4;
const mostMeans = 3;
const mostRatios = 3;

/** How many marks have room there; where there are more, all of them stand under “What to know”. */
export function mostCares({ ensembles }: StudySummary): number {
  return ensembles.length > mostMeans ? 3 : 6;
}

/** For a reader who is not a specialist: the question, the answer in words, one picture, one small table, the cares. */
export function studyFirstPage(
  source: StudyReportSource,
  summary: StudySummary,
  standings: readonly RequirementStanding[],
): Section {
  const { counts, ensembles } = summary;
  const virtual: Words = isVirtual(summary) ? [{ text: ' ' }, strong(reportWords.virtual)] : [];
  const blocks: Block[] = [
    {
      block: 'title',
      words: titleWords(source, ensembles),
      below: [
        ...words`The study “${given(source.study.name)}”: ${counted(counts.counted, 'trial', 'trials')} in the `,
        ...words`figures, of ${counted(counts.subjects, 'subject', 'subjects')}, ${daysOf(summary, source)}.`,
        ...virtual,
      ],
    },
    { block: 'answer', words: answer(summary) },
  ];
  const own = { ...summary, shares: plannedShares(source, summary) };
  const verdicts = verdictsOf(own, standings);
  if (verdicts.length > mostVerdicts) blocks.push({ block: 'list', items: verdictLines(own, standings) });
  else blocks.push(...verdictBlocks(verdicts));
  if (counts.counted > 0) {
    blocks.push(
      { block: 'heading', text: 'Every trial' },
      {
        block: 'figure',
        figure: wholeFigure(summary),
        caption:
          'Inward leakage of whole trials, percent of the aerosol outside, log scale. Dot: one trial' +
          `${isDense(summary) ? '' : '; a line joins a subject'}. Bar: geometric mean with its ` +
          `${shareText(summary.questions.confidence)} interval. Dotted ground: ` +
          'below the detection limit, where place means nothing.',
      },
    );
  }
  const care = withCare(summary);
  if (ensembles.length === 0 || ensembles.length > mostMeans) blocks.push(...care);
  else blocks.push({ block: 'pair', left: means(summary), right: care });
  return { id: 'summary', heading: null, blocks };
}

/** Two beside each other have room for their words; three where there are three. */
export function verdictBlocks(verdicts: readonly Verdict[]): Block[] {
  if (verdicts.length <= 3) return verdicts.length === 0 ? [] : [{ block: 'verdicts', verdicts }];
  const rows: Block[] = [];
  for (let from = 0; from < verdicts.length; from += 2) {
    rows.push({ block: 'verdicts', verdicts: verdicts.slice(from, from + 2) });
  }
  return rows;
}

export function isVirtual({ roster }: StudySummary): boolean {
  const counted_ = roster.filter(({ leftOut }) => leftOut === null);
  const asked = counted_.length > 0 ? counted_ : roster;
  return asked.some(({ virtual }) => virtual);
}

export function titleWords({ study }: StudyReportSource, ensembles: readonly string[]): Words {
  const [first, second] = ensembles;
  if (first === undefined) return words`What the study “${given(study.name)}” shows`;
  if (second === undefined) return words`How much leaks into ${given(first)}`;
  if (ensembles.length === 2) return words`How much leaks into ${given(first)} and into ${given(second)}`;
  return words`How much leaks into ${ensembles.length} ensembles`;
}

/** Of the trials in the figures; of all where none is. */
function daysOf({ roster }: StudySummary, { trials }: StudyReportSource): string {
  const inFigures = roster.filter(({ leftOut }) => leftOut === null);
  const days = (inFigures.length > 0 ? inFigures : trials).map(({ createdAt }) => createdAt).sort();
  const [first, last] = [days[0] ?? '', days.at(-1) ?? ''];
  const [from, to] = [dayInWords(first), dayInWords(last)];
  return from === to ? from : `${from} to ${to}`;
}

function answer({ scopes, ensembles, questions, counts }: StudySummary): Words {
  if (counts.counted === 0) {
    const why = plain(' Why each trial is in no figure stands with the trials.');
    return [strong('This study gives no result yet.'), ...why];
  }
  const [whole] = scopes;
  const [first = ''] = ensembles;
  if (ensembles.length === 1) {
    const summary = whole?.ensembles[0]?.summary;
    if (summary?.known !== true) {
      return [strong('No mean can be given.'), ...plain(` ${summary?.because ?? ''}`)];
    }
    const { geometricMean, geometricMeanLow: low, geometricMeanHigh: high } = summary.figure;
    const sure = `${percentFull(low)} to ${percentFull(high)}${nbsp}%, ${shareText(questions.confidence)} sure`;
    return [strong(`The mean leakage found is ${percentFull(geometricMean)}${nbsp}%`), ...plain(` (${sure}).`)];
  }
  const ratios = (whole?.ratios ?? []).filter(({ lower }) => lower === first);
  const said = ratios.slice(0, mostRatios).flatMap(({ ratio, upper, lower }): Words => {
    if (ratio.known) return [...ratioWords(ratio.figure, questions.confidence).map(bold), { text: ' ' }];
    return words`${given(upper)} and ${given(lower)} cannot be compared: ${lowered(ratio.because)} `;
  });
  const more = ratios.length > mostRatios ? plain(`${ratios.length - mostRatios} more stand under “Ratios”.`) : [];
  const among = ensembles.length > 2 ? plain(' All of these hold together.') : [];
  return [...said, ...more, ...among];
}

function bold(part: Words[number]): Words[number] {
  return { ...part, strong: true };
}

function lowered(text: string): string {
  return `${text.charAt(0).toLowerCase()}${text.slice(1)}`;
}

/** Of the limits only those that trials of the very ensemble were planned with. */
function plannedShares({ trials }: StudyReportSource, { shares, roster }: StudySummary): StudySummary['shares'] {
  return shares.filter(({ ensemble, limitPercent }) =>
    roster.some((row, index) => {
      const isOwn = row.ensemble === ensemble && isHeldAgainstLimits(row);
      return isOwn && trials[index]?.requirementPercent === limitPercent;
    }),
  );
}

function doubtsAbout({ roster }: StudySummary, ensemble: string): string[] {
  return doubtsOfRows(roster.filter((row) => row.ensemble === ensemble && isHeldAgainstLimits(row)));
}

/** Of the requirement where one is asked, and of the limits of the plans. What is in doubt is never ticked off. */
export function verdictsOf(summary: StudySummary, standings: readonly RequirementStanding[]): Verdict[] {
  const asked = standings.map(({ ensemble, verdict }): Verdict => {
    const name = given(ensemble).text;
    const because = [...new Set(verdict.rules.map((rule) => rule.because))].join('; ');
    const said = given(`${because.charAt(0).toUpperCase()}${because.slice(1)}.`).text;
    const more = `${said}${inDoubt(verdict.doubts)}`;
    if (verdict.verdict === 'passed') {
      return { mark: verdict.doubts.length > 0 ? 'doubt' : 'good', title: `${name}: requirement met`, more };
    }
    if (verdict.verdict === 'failed') return { mark: 'doubt', title: `${name}: requirement not met`, more };
    return { mark: 'none', title: `${name}: no verdict`, more };
  });
  const { confidence } = summary.questions;
  return [
    ...asked,
    ...summary.shares.map((share) => limitVerdict(share, confidence, doubtsAbout(summary, share.ensemble))),
  ];
}

/** The same in a line for the requirement and one for each limit, however many ensembles there are. */
function verdictLines(summary: StudySummary, standings: readonly RequirementStanding[]): Words[] {
  const { shares } = summary;
  const by = (verdict: RequirementStanding['verdict']['verdict'], doubted?: boolean): string[] =>
    standings.flatMap(({ ensemble, verdict: own }) => {
      const isAsked = doubted === undefined || doubted === own.doubts.length > 0;
      return own.verdict === verdict && isAsked ? [ensemble] : [];
    });
  const isDoubted = ({ ensemble }: (typeof shares)[number]): boolean => doubtsAbout(summary, ensemble).length > 0;
  const limits = [...new Set(shares.map(({ limitPercent }) => limitPercent))];
  return [
    ...(standings.length === 0
      ? []
      : [
          grouped('Requirement', {
            met: by('passed', false),
            'met, in doubt': by('passed', true),
            'not met': by('failed'),
            'no verdict': by('not-evaluated'),
          }),
        ]),
    ...limits.map((limit) => {
      const own = shares.filter(({ limitPercent }) => limitPercent === limit);
      const where = (holds: (share: (typeof own)[number]) => boolean): string[] =>
        own.filter(holds).map(({ ensemble }) => ensemble);
      return grouped(`Whole trials ≤${nbsp}${percentShort(limit)}`, {
        'kept by every subject': where((one) => isKept(one) && !isDoubted(one)),
        'kept by every subject, in doubt': where((one) => isKept(one) && isDoubted(one)),
        'not kept by every subject': where(({ exceeding }) => exceeding.length > 0),
        'cannot be told of every subject': where(({ exceeding, open }) => exceeding.length === 0 && open > 0),
      });
    }),
  ];
}

function isKept({ exceeding, open }: StudySummary['shares'][number]): boolean {
  return exceeding.length === 0 && open === 0;
}

function grouped(what: string, groups: Readonly<Record<string, readonly string[]>>): Words {
  const said = Object.entries(groups).filter(([, names]) => names.length > 0);
  return [
    strong(what),
    ...said.flatMap(([verdict, names], index) => {
      const before = index === 0 ? ': ' : '; ';
      return words`${before}${verdict}: ${given(names.join(' · '))}`;
    }),
    { text: '.' },
  ];
}

function means({ scopes }: StudySummary): Block[] {
  const rows = (scopes[0]?.ensembles ?? []).map(({ ensemble, subjects, summary }): TableCell[] => [
    { words: [given(ensemble)] },
    cellOf(String(subjects)),
    cellOf(summary.known ? percentFull(summary.figure.geometricMean) : '–'),
    cellOf(
      summary.known
        ? `${percentFull(summary.figure.geometricMeanLow)} to ${percentFull(summary.figure.geometricMeanHigh)}`
        : '–',
    ),
  ]);
  return [
    { block: 'heading', text: 'Whole trials' },
    {
      block: 'table',
      caption: 'Geometric mean of the subjects, percent of the challenge',
      columns: [
        { heading: 'Ensemble', align: 'left', width: 4 },
        { heading: 'Subjects', align: 'right', width: 2.4 },
        { heading: 'Mean, %', align: 'right', width: 2.4 },
        { heading: 'Interval', align: 'right', width: 3.8 },
      ],
      rows,
      totals: [],
      notes: [],
    },
  ];
}

function withCare(summary: StudySummary): Block[] {
  const { marks } = summary;
  const shown = marks.slice(0, mostCares(summary));
  const items: Words[] = [
    plain('It says nothing about gases or vapours, and is no protection factor for a workplace.'),
    ...shown.map(({ text }) => plain(text)),
    ...(marks.length > shown.length ? [plain(`${marks.length - shown.length} more stand under “What to know”.`)] : []),
  ];
  return [
    { block: 'heading', text: 'Read this with care' },
    { block: 'list', items, care: true },
  ];
}
