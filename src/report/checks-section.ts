import type { DwellMean } from '../leakage/assessment.ts';
import { certificateDoubtInWords, certificateStanding } from '../leakage/certificate-words.ts';
import { certifiedRig } from '../leakage/certified.ts';
import { fewestMoves } from '../leakage/zero-step.ts';
import { recordedDwells } from '../leakage/recorded-dwell.ts';
import type { SupportingCertificate } from '../model/certificate.ts';
import { significant } from '../model/number-text.ts';
import { afterInWords, afterOfRecord, hasEntered } from '../trial/after.ts';
import { answerWords, beforeLines, followAnswers } from '../trial/before.ts';
import type { BeforeAnswers } from '../trial/before.ts';
import { momentInWords, trialTime } from './moments.ts';
import type { TrialEventOf } from '../model/trial-event.ts';
import type { Block, Section, TableCell } from './document.ts';
import { given, plain } from './document.ts';
import { counted, nbsp, plainNumber, readingText } from './numbers.ts';
import type { ReportSource } from './source.ts';
import { confirmationsInWords } from './story.ts';

/** What was looked at in the trial itself, beside what the method allows. */
export function checksSection(source: ReportSource): Section {
  const blocks: Block[] = [
    ...goneThrough(source),
    ...lookedAfter(source),
    {
      block: 'table',
      caption: 'Checks in the trial',
      columns: [
        { heading: 'Check', align: 'left', width: 2.6 },
        { heading: 'Found', align: 'left', width: 4.4 },
        { heading: 'Allowed', align: 'left', width: 3 },
      ],
      rows: [steadiness(source), zeros(source), references(source), scatter(source), valve(source), problems(source)],
      totals: [],
      notes: [],
    },
    backgrounds(source),
    ...checksOfRig(source),
    ...certificatesOf(source),
  ];
  return { id: 'checks', heading: 'Checks it rests on', blocks };
}

/** Checks of the rig as the laboratory had them when the trial was prepared. */
function checksOfRig({ record }: ReportSource): Block[] {
  const { checks } = record.header;
  if (checks === undefined || checks.length === 0) {
    const words =
      checks === undefined
        ? 'How the checks of the rig stood before the trial (zero, span, response, dilution, leaks of the lines) is ' +
          'not in the record.'
        : 'No check of the rig had been made before the trial.';
    const stated = 'The values that the rig states stand under Configuration.';
    return [{ block: 'paragraph', quiet: true, words: plain(`${words} ${stated}`) }];
  }
  const standings = { valid: 'valid', 'due-soon': 'valid, due soon', overdue: 'overdue', failed: 'failed' } as const;
  return [
    {
      block: 'table',
      caption: 'Checks of the rig, as they stood when the trial was prepared',
      columns: [
        { heading: 'Check', align: 'left', width: 3 },
        { heading: 'Made', align: 'left', width: 3 },
        { heading: 'Stood as', align: 'left', width: 2 },
        { heading: 'Number', align: 'right', width: 1 },
      ],
      rows: checks.map((one): TableCell[] => [
        { words: [given(one.name)] },
        { words: plain(momentInWords(one.madeAt)) },
        { words: plain(standings[one.standing]), flagged: one.standing === 'overdue' || one.standing === 'failed' },
        { words: plain(String(one.number)) },
      ]),
      totals: [],
      notes: [plain('Numbers are those of the laboratory file, which keeps what each check read.')],
    },
  ];
}

/** Certificates of what worked in the rig, as they stood then; nothing where the register knew none of it. */
function certificatesOf({ record }: ReportSource): Block[] {
  const { certificates } = record.header;
  if (certificates === undefined) return [];
  const { inputs } = certifiedRig(record.rig, certificates);
  const uses = (one: SupportingCertificate): string => {
    const found = inputs.find(({ from }) => from === one);
    if (found === undefined) return 'recorded';
    return found.rigStates === null ? 'computed with' : `instead of the rig’s ${plainNumber(found.rigStates.value)}`;
  };
  return [
    {
      block: 'table',
      caption: 'Certificates of the instruments, as they stood when the trial was prepared',
      columns: [
        { heading: 'Instrument', align: 'left', width: 2.6 },
        { heading: 'Certificate', align: 'left', width: 2.4 },
        { heading: 'States', align: 'left', width: 3.2 },
        { heading: 'In the result', align: 'left', width: 1.8 },
        { heading: 'Valid until', align: 'left', width: 1.6 },
      ],
      rows: certificates.map((one): TableCell[] => {
        const { certificate, instrument, maker, model, serial } = one;
        const flagged = one.standing === 'expired' || one.standing === 'missing';
        const stood = certificateStanding(one);
        const about = { words: [given(`${instrument}: ${maker}, ${model}, serial ${serial}`)] };
        if (certificate === null) {
          return [about, ...[1, 2, 3].map(() => ({ words: plain('–') })), { words: plain(stood), flagged }];
        }
        const { issuer, number, quantity, unit, validUntil, value } = certificate;
        const of = unit === '1' ? '' : `${nbsp}${unit}`;
        return [
          about,
          { words: [given(`${number}, ${issuer}`)] },
          { words: [given(`${quantity} ${value}${of}; ${certificateDoubtInWords(certificate)}`)] },
          { words: plain(uses(one)) },
          { words: plain(one.standing === 'valid' ? validUntil : `${validUntil}, ${stood}`), flagged },
        ];
      }),
      totals: [],
      notes: certificates.flatMap(({ certificate }) => {
        const file = certificate?.file;
        return file === undefined ? [] : [[given(`${file.name}: SHA-256 ${file.digest}`)]];
      }),
    },
  ];
}

/** How the list of before the start stood when the trial was started. */
function goneThrough({ record }: ReportSource): Block[] {
  const { header, rig } = record;
  const hasStop = rig.instruments.some(({ kind }) => kind === 'contact');
  let answers: BeforeAnswers = new Map();
  for (const event of record.events) answers = followAnswers(answers, event);
  if (answers.size === 0) {
    const words = header.virtual
      ? 'Virtual rig: nobody was inside, and the list of before the start was not gone through.'
      : 'No list of before the start stands in the record.';
    return [{ block: 'paragraph', words: plain(words) }];
  }
  const rows = beforeLines(answers, hasStop, header.certificates).map(({ answer, title }) => ({
    ...{ title, answer, found: false },
    word: answer === null ? 'open' : answerWords[answer.answer],
    more: answer?.note ?? '',
  }));
  return [answerTable('Before the start', rows)];
}

/** How the list of after the trial stood when it was sealed. */
function lookedAfter({ record }: ReportSource): Block[] {
  const { events, header } = record;
  const lines = afterOfRecord(events);
  if (lines.every(({ answer }) => answer === null)) {
    // Nobody was inside.
    if (header.virtual || !hasEntered(events)) return [];
    return [{ block: 'paragraph', words: plain('No list of after the trial stands in the record.') }];
  }
  const rows = lines.map(({ answer, item, title }) => ({
    ...{ title, answer, found: answer?.answer === 'noted' },
    word: answer === null ? 'open' : afterInWords(item, answer.answer),
    more: [answer?.note ?? '', answer?.measured ?? ''].filter((part) => part !== '').join('. '),
  }));
  return [answerTable('After the trial', rows)];
}

/** A list that was gone through. `found`: the answer tells of something that is to be looked at. */
function answerTable(
  caption: string,
  rows: readonly {
    readonly title: string;
    readonly word: string;
    readonly found: boolean;
    readonly more: string;
    readonly answer: { readonly persons: readonly string[]; readonly atMicroseconds: number } | null;
  }[],
): Block {
  return {
    block: 'table',
    caption,
    columns: [
      { heading: 'Item', align: 'left', width: 2.6 },
      { heading: 'Answer', align: 'left', width: 1.8 },
      { heading: 'By', align: 'left', width: 1.8 },
      { heading: 'At', align: 'right', width: 1 },
      { heading: 'In the words of the record', align: 'left', width: 2.8 },
    ],
    rows: rows.map(({ answer, found, more, title, word }): TableCell[] => [
      { words: plain(title) },
      { words: plain(word), flagged: found },
      { words: answer === null ? plain('–') : [given(answer.persons.join(', '))] },
      { words: plain(answer === null ? '–' : trialTime(answer.atMicroseconds)) },
      { words: more === '' ? plain('–') : [given(more)] },
    ]),
    totals: [],
    notes: [],
  };
}

function row(check: string, found: string, allowed: string): TableCell[] {
  return [{ words: plain(check) }, { words: plain(found) }, { words: plain(allowed) }];
}

function steadiness({ record, assessment }: ReportSource): TableCell[] {
  const { entry } = record.series;
  const judged = record.events.findLast(
    (event): event is TrialEventOf<'challenge-judged'> => event.kind === 'challenge-judged',
  );
  const allowed =
    `range at most ${plainNumber(entry.steadyRangePercent)}${nbsp}% over ` +
    `${plainNumber(entry.steadyWindowSeconds)}${nbsp}s`;
  if (judged === undefined) return row('Challenge before the series', 'not judged', allowed);
  const { steady, rangePercent, meanReading } = judged;
  const parts = [steady ? 'steady' : 'not steady'];
  if (rangePercent !== null) parts.push(`range ${significant(rangePercent, 2)}${nbsp}%`);
  if (meanReading !== null) parts.push(`mean ${readingText(meanReading, assessment.details.readingUnit)}`);
  return row('Challenge before the series', parts.join(', '), allowed);
}

/** First and last mean of some dwells, in words. */
function firstAndLast(means: readonly DwellMean[], unit: string): string {
  const first = means[0];
  const last = means.at(-1);
  if (first === undefined || last === undefined) return 'none usable';
  const at = (mean: DwellMean): string =>
    `${readingText(mean.correctedReading, unit)} at ${trialTime(mean.arrivalFromMicroseconds)}`;
  return means.length === 1 ? `one, ${at(first)}` : `${means.length} read; ${at(first)}, ${at(last)}`;
}

function zeros({ assessment }: ReportSource): TableCell[] {
  const { zeros: read, references: spans, readingUnit } = assessment.details;
  const { zeroChangePercent, zeroStepDeviations } = assessment.method;
  const challenge = meanOf(spans) - meanOf(read);
  let largest = 0;
  read.forEach((mean, index) => {
    const before = read[index - 1];
    if (before !== undefined) largest = Math.max(largest, Math.abs(mean.correctedReading - before.correctedReading));
  });
  const step =
    read.length > 1 && challenge > 0
      ? `; largest step ${significant((100 * largest) / challenge, 2)}${nbsp}% of the challenge`
      : '';
  const blind = zeroStepDeviations !== undefined && read.length <= fewestMoves ? '; too few to tell a step' : '';
  return row(
    'Zero, filtered air',
    `${firstAndLast(read, readingUnit)}${step}${blind}`,
    `step at most ${plainNumber(zeroChangePercent)}${nbsp}% of the challenge`,
  );
}

function references({ assessment }: ReportSource): TableCell[] {
  const { references: read, readingUnit } = assessment.details;
  const { spanChangePercent } = assessment.method;
  const first = read[0];
  const last = read.at(-1);
  const change =
    first === undefined || last === undefined || read.length < 2 || first.correctedReading === 0
      ? ''
      : `; changed by ${significant(100 * (last.correctedReading / first.correctedReading - 1), 2)}${nbsp}%`;
  return row(
    'Challenge in the chamber',
    `${firstAndLast(read, readingUnit)}${change}`,
    `change from first to last at most ${plainNumber(spanChangePercent)}${nbsp}%, net of zero`,
  );
}

function meanOf(means: readonly DwellMean[]): number {
  return means.length === 0 ? 0 : means.reduce((sum, mean) => sum + mean.correctedReading, 0) / means.length;
}

function scatter({ assessment }: ReportSource): TableCell[] {
  const { blank, readingUnit } = assessment.details;
  const found =
    blank === null
      ? 'not known'
      : `single readings ${readingText(blank.standardDeviation, readingUnit)}, from ` +
        `${counted(blank.readings, 'reading', 'readings')} in ${counted(blank.blanks, 'zero', 'zeros')}`;
  return row('Scatter of filtered air', found, 'sets the detection limits');
}

function valve({ record }: ReportSource): TableCell[] {
  const dwells = recordedDwells(record.events);
  const count = (port: 'confirmed' | 'unconfirmed' | 'wrong'): number =>
    dwells.filter((dwell) => dwell.port === port).length;
  return row(
    'Selector valve',
    confirmationsInWords(count('confirmed'), count('unconfirmed'), count('wrong')),
    'every port confirmed',
  );
}

function problems({ record }: ReportSource): TableCell[] {
  const count = record.events.filter((event) => event.kind === 'problem').length;
  const alarms = record.events.filter((event) => event.kind === 'alarm-raised').length;
  return row(
    'Problems and alarms',
    `${counted(count, 'problem', 'problems')} of the instruments, ${counted(alarms, 'alarm', 'alarms')}`,
    'each is told under What happened',
  );
}

function backgrounds({ record, assessment }: ReportSource): Block {
  const { backgrounds: read, readingUnit, cells } = assessment.details;
  if (read.length === 0) {
    return { block: 'paragraph', words: plain('No background reading of before the challenge is usable.') };
  }
  const net = (probe: string): string => {
    const part = cells
      .flatMap((cell) => (cell.probe === probe ? cell.parts : []))
      .find((one) => one.background !== null);
    return part?.background == null ? '–' : readingText(part.background.netReading, readingUnit);
  };
  return {
    block: 'table',
    caption: 'Every probe before the challenge',
    columns: [
      { heading: 'Probe', align: 'left', width: 3 },
      { heading: 'Reading', align: 'right', width: 2.5 },
      { heading: 'Net of zero, subtracted', align: 'right', width: 3 },
      { heading: 'Readings', align: 'right', width: 1.5 },
    ],
    rows: read.map((mean): TableCell[] => [
      {
        words: [given(record.rig.ports.find((port) => port.probe === mean.probe)?.label ?? mean.probe)],
        probe: mean.probe,
      },
      { words: plain(readingText(mean.correctedReading, readingUnit)), flagged: mean.flags.length > 0 },
      { words: plain(net(mean.probe)) },
      { words: plain(String(mean.readings)) },
    ]),
    totals: [],
    notes: [],
  };
}
