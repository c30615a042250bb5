import type { Cell, CellMean } from '../leakage/assessment.ts';
import { flagName } from '../leakage/flag-words.ts';
import { castsDoubt, type Flag } from '../leakage/flag.ts';
import { probePorts, type Port } from '../model/rig.ts';
import { subjectPerson } from '../model/trial-event.ts';
import type { TrialEvent } from '../model/trial-event.ts';
import type { Block, Section, TableCell, Verdict, Words } from './document.ts';
import { given, plain, strong, words } from './document.ts';
import { dayInWords } from './moments.ts';
import { counted, nbsp, nominalText, partsInWords, percentFull, percentShort } from './numbers.ts';
import { resultFigure } from './result-figure.ts';
import { reviewInWords } from './review-section.ts';
import type { ReportSource } from './source.ts';
import type { Gap } from './story.ts';
import { voidedBy, voidInWords } from './voiding-section.ts';
import { reportWords } from './words.ts';

/** For a reader who is not a specialist: the question, the answer in words, one picture, one small table, the cares. */
export function firstPage(source: ReportSource, gaps: readonly Gap[]): Section {
  const { record, assessment, study } = source;
  const { header, rig, segments } = record;
  const requirement = header.requirementPercent ?? null;
  const began = segments[0]?.wallAnchor ?? source.seal.at;
  const challenge = nominalText(rig.challenge.nominal, assessment.details.readingUnit);
  const virtual: Words = header.virtual ? [{ text: ' ' }, strong(reportWords.virtual)] : [];
  const blocks: Block[] = [
    {
      block: 'title',
      words: words`How much leaks into ${given(header.ensemble)}`,
      below: [
        ...words`One trial with subject ${given(header.subject)}, ${dayInWords(began)}, in the study `,
        ...words`“${given(study.name)}”. Challenge: ${given(rig.challenge.agent)}, nominally ${challenge}.`,
        ...virtual,
      ],
    },
    { block: 'answer', words: answer(source) },
    { block: 'verdicts', verdicts: [requirementVerdict(source, requirement), dataVerdict(source)] },
    { block: 'heading', text: 'Every value' },
    {
      block: 'figure',
      figure: resultFigure(assessment.details, probePorts(rig), requirement),
      caption: reportWords.figure.caption,
    },
    ...(linesOfProbes(probePorts(rig), header.ensemble) > mostLinesOfProbes
      ? withCare(source, gaps)
      : [{ block: 'pair' as const, left: whereItLeaks(source), right: withCare(source, gaps) }]),
  ];
  return { id: 'summary', heading: null, blocks };
}

function answer(source: ReportSource): Words {
  const { assessment, record } = source;
  const ofVoid = voidInWords(source);
  const { overall, cells, probes } = assessment.details;
  const doubt = cells.filter((cell) => cell.flagged || cell.windowPercent === null).length;
  const more =
    (doubt === 0 ? '' : ` ${counted(doubt, 'value is', 'values are')} in doubt or missing.`) +
    (endedEarly(record.events) ? ` ${reportWords.endedEarly}` : '') +
    (stoppedBySubject(record.events) ? ` ${reportWords.stoppedBySubject}` : '');
  if (overall.windowPercent === null) {
    const stopped = stoppedBySubject(record.events) ? ` ${reportWords.stoppedBySubject}` : '';
    const why = `${stopped} No exercise has a value at any probe; why stands on the next pages.`;
    return [...voidInWords(source), strong('This trial gives no result.'), { text: why }];
  }
  const seen = cells.filter((cell) => cell.windowPercent !== null);
  const below = seen.filter(isBelowLimit);
  if (below.length === seen.length) {
    const most = Math.max(...below.map((cell) => cell.detectionLimitPercent ?? 0));
    const found = strong('No leakage was found above the detection limit.');
    const limit = `which is at most ${percentShort(most)} of the aerosol outside.`;
    return [...ofVoid, ...words`${found} Every value lies below its limit, ${limit}${more}`];
  }
  const parts = partsInWords(overall.windowPercent);
  const found =
    parts === null
      ? `The mean leakage found is ${percentShort(overall.windowPercent)}.`
      : `About ${parts} of the aerosol outside were found inside.`;
  const name = (probe: string): string => record.rig.ports.find((port) => port.probe === probe)?.label ?? probe;
  const ranked = probes
    .flatMap(({ probe, windowPercent }) => (windowPercent === null ? [] : [{ probe, percent: windowPercent }]))
    .sort((one, other) => other.percent - one.percent);
  const [most] = ranked;
  const least = ranked.at(-1);
  const where: Words =
    most === undefined || least === undefined || ranked.length < 2
      ? []
      : [
          ...words` Most was found here: ${given(name(most.probe))}, ${percentShort(most.percent)}.`,
          ...words` Least here: ${given(name(least.probe))}, ${percentShort(least.percent)}.`,
        ];
  return [...ofVoid, strong(found), ...where, ...plain(more)];
}

/** A trial that ran to its end closes by itself, from running; any other is closed from a standstill, by a person. */
function endedEarly(events: readonly TrialEvent[]): boolean {
  return events.some((event) => event.kind === 'phase-changed' && event.to === 'closed' && event.from !== 'running');
}

function stoppedBySubject(events: readonly TrialEvent[]): boolean {
  return events.some(
    (event) => event.kind === 'operator-action' && event.action === 'stop' && event.person === subjectPerson,
  );
}

function isBelowLimit({ windowPercent, detectionLimitPercent: limit }: Cell): boolean {
  return windowPercent !== null && limit !== null && windowPercent < limit;
}

/** 95 % interval of the mean of whole exercises, cut at zero; null where it is not known. */
function wholeInterval(mean: Partial<CellMean>): [number, number] | null {
  const { exerciseHighPercent: high, exerciseLowPercent: low } = mean;
  return low == null || high == null ? null : [Math.max(0, low), Math.max(0, high)];
}

function requirementVerdict(source: ReportSource, requirement: number | null): Verdict {
  const { assessment, record } = source;
  if (voidedBy(source) !== null) {
    return { mark: 'doubt', title: 'This trial is void', more: 'No verdict: nothing is met or missed by it.' };
  }
  if (requirement === null) {
    return { mark: 'none', title: 'No requirement was set', more: 'Nothing is met or missed by this trial.' };
  }
  const { overall } = assessment.details;
  const { windowPercent: mean } = overall;
  if (mean === null) {
    return { mark: 'none', title: `${percentShort(requirement)} allowed`, more: 'No verdict: there is no result.' };
  }
  const side = mean > requirement ? 'above' : 'not above';
  const title = `Mean ${percentShort(mean)}, ${side} the ${percentShort(requirement)} allowed`;
  const early = endedEarly(record.events);
  const whole = wholeInterval(overall);
  const reasons = [
    ...(early ? ['the trial was ended early'] : []),
    ...(overall.flagged ? ['values in the mean are in doubt'] : []),
    ...(whole === null ? ['the interval of the mean is not known'] : []),
  ];
  if (whole === null || reasons.length > 0) {
    return { mark: early || overall.flagged ? 'doubt' : 'none', title, more: `No verdict: ${reasons.join('; ')}.` };
  }
  const [low, high] = whole;
  const interval = `the mean of the whole exercises lies between ${percentShort(low)} and ${percentShort(high)}`;
  if (low <= requirement && requirement < high) {
    return { mark: 'doubt', title, more: `Not decided: ${interval}, on both sides of what is allowed.` };
  }
  const met = high <= requirement;
  return { mark: met ? 'good' : 'doubt', title, more: `${met ? 'Met' : 'Not met'} by this trial: ${interval}.` };
}

function dataVerdict({ assessment, record }: ReportSource): Verdict {
  const { cells, overall } = assessment.details;
  const flagged = cells.filter((cell) => cell.flagged).length;
  if (cells.length === 0) return { mark: 'none', title: 'No values', more: 'The assessment holds none.' };
  const from = `${counted(record.series.exercises.length, 'exercise', 'exercises')} at ${counted(
    probePorts(record.rig).length,
    'probe',
    'probes',
  )}`;
  if (flagged === 0 && overall.cellsMissing === 0) {
    return { mark: 'good', title: `${counted(cells.length, 'value', 'values')}, none in doubt`, more: `From ${from}.` };
  }
  const missing = overall.cellsMissing === 0 ? '' : ` ${counted(overall.cellsMissing, 'has', 'have')} no result.`;
  return {
    mark: 'doubt',
    title: `${flagged} of ${counted(cells.length, 'value', 'values')} in doubt`,
    more: `From ${from}.${missing} The reasons stand in the result tables.`,
  };
}

function whereItLeaks({ assessment, record }: ReportSource): Block[] {
  const { cells, probes } = assessment.details;
  const rows = probePorts(record.rig).map(({ probe, label }): TableCell[] => {
    const mean = probes.find((one) => one.probe === probe);
    const own = cells.filter((cell) => cell.probe === probe);
    const highest = own
      .filter((cell) => cell.windowPercent !== null)
      .sort((one, other) => (other.windowPercent ?? 0) - (one.windowPercent ?? 0))[0];
    return [
      { words: [given(label)], probe },
      {
        words: plain(mean?.windowPercent == null ? '–' : percentFull(mean.windowPercent)),
        flagged: mean?.flagged === true,
      },
      highest === undefined
        ? { words: plain(reportWords.noResult) }
        : { words: shownValue(highest), flagged: highest.flagged },
    ];
  });
  return [
    { block: 'heading', text: 'Where it leaks' },
    {
      block: 'table',
      caption: 'Inward leakage by probe, percent of the challenge',
      columns: [
        { heading: 'Probe', align: 'left', width: 5 },
        { heading: 'Mean, %', align: 'right', width: 3 },
        { heading: 'Highest, %', align: 'right', width: 3 },
      ],
      rows,
      totals: [],
      notes: [],
    },
  ];
}

/** The value of a cell without its unit; below the limit as such. */
export function shownValue(cell: Cell): Words {
  if (cell.windowPercent === null) return plain(reportWords.noResult);
  if (isBelowLimit(cell)) return plain(`<${nbsp}${percentFull(cell.detectionLimitPercent ?? 0)}`);
  return plain(percentFull(cell.windowPercent));
}

function withCare(source: ReportSource, gaps: readonly Gap[]): Block[] {
  const { details } = source.assessment;
  const flags = details.flags.filter((flag) => castsDoubt([flag]));
  const items: Words[] = [
    plain(
      'One person, one ensemble, one day, one aerosol: another wearer, other work or another aerosol may leak ' +
        'otherwise.',
    ),
    plain('It says nothing about gases or vapours, and is no protection factor for a workplace.'),
    plain('Every value has an interval of doubt, which stands with the results: small differences may be chance.'),
  ];
  const review = reviewInWords(source);
  if (review !== null) items.push(review);
  if (flags.length > 0) items.push(plain(doubtsInWords(flags)));
  if (gaps.length > 0)
    items.push(
      plain(
        `There ${gaps.length === 1 ? 'is' : 'are'} ${counted(gaps.length, 'stretch', 'stretches')} without readings.`,
      ),
    );
  return [
    { block: 'heading', text: 'Read this with care' },
    { block: 'list', items, care: true },
  ];
}

/** With more lines of probes than this they are in the figure and with the results only: the first page is one page. */
const mostLinesOfProbes = 9;

/** About how many lines they take there; each beyond five makes the figure higher, a long title leaves fewer. */
function linesOfProbes(probes: readonly Port[], title: string): number {
  const lines = probes.reduce((sum, { label }) => sum + Math.ceil([...label].length / 20), 0);
  return lines + 2 * Math.max(0, probes.length - 5) + (title.length > 25 ? 2 : 0);
}

/** More reasons than this are counted: the first page is one page, and all of them stand with the results. */
const mostReasons = 3;

function doubtsInWords(flags: readonly Flag[]): string {
  const named = flags.slice(0, flags.length === mostReasons + 1 ? mostReasons + 1 : mostReasons).map(flagName);
  const more = flags.length - named.length;
  const others = more === 0 ? '' : `, and ${more} more reasons, which stand with the results`;
  return `In doubt because of: ${named.join(', ')}${others}.`;
}
