import type { Block, Facts, Section, Words } from './document.ts';
import { given, plain, strong, wire, words } from './document.ts';
import { momentInWords, trialTime } from './moments.ts';
import { counted, groupedNumber, nbsp } from './numbers.ts';
import type { ReportSource } from './source.ts';
import type { Gap } from './story.ts';
import { tellHappenings } from './story.ts';
import { traceFigures } from './trace-figure.ts';
import type { ToldExercise } from './story.ts';
import { reportWords } from './words.ts';

/** The whole trial as the photometer read it. */
export function traceSection(source: ReportSource, exercises: readonly ToldExercise[], gaps: readonly Gap[]): Section {
  const { details } = source.assessment;
  const figures = traceFigures({
    record: source.record,
    cells: details.cells,
    exercises,
    gaps: gaps.filter((gap) => gap.ofPhotometer),
    endMicroseconds: source.endMicroseconds,
    scatter: details.blank?.standardDeviation ?? null,
  });
  const blocks: Block[] =
    figures.length === 0
      ? [{ block: 'paragraph', words: plain(reportWords.trace.none) }]
      : [
          { block: 'paragraph', words: plain(reportWords.trace.legend), quiet: true },
          ...figures.map((figure): Block => ({ block: 'figure', figure, caption: '' })),
        ];
  return { id: 'trace', heading: 'Trace', blocks };
}

/** What did not go by the plan, and what people did and wrote. */
export function happeningsSection(source: ReportSource, gaps: readonly Gap[]): Section {
  const { told, untold } = tellHappenings(source.record);
  const blocks: Block[] = [];
  if (told.length === 0) blocks.push({ block: 'paragraph', words: plain('Nothing was noted.') });
  else {
    blocks.push({
      block: 'table',
      caption: 'Actions, alarms, problems and notes, in the time of the trial',
      columns: [
        { heading: 'Time', align: 'right', width: 0.9 },
        { heading: 'What', align: 'left', width: 4 },
        { heading: 'In the words of the record', align: 'left', width: 5 },
      ],
      rows: told.map(({ atMicroseconds, what, said }) => [
        { words: plain(trialTime(atMicroseconds)) },
        { words: plain(what) },
        { words: said === '' ? plain('–') : [given(said)] },
      ]),
      totals: [],
      notes:
        untold === 0 ? [] : [plain(`${counted(untold, 'more entry stands', 'more entries stand')} in the study file.`)],
    });
  }
  if (gaps.length > 0) {
    blocks.push({
      block: 'table',
      caption: 'Stretches without readings',
      columns: [
        { heading: 'From', align: 'right', width: 1 },
        { heading: 'To', align: 'right', width: 1 },
        { heading: 'Seconds', align: 'right', width: 1 },
        { heading: 'Why', align: 'left', width: 5 },
      ],
      rows: gaps.map(({ fromMicroseconds: from, toMicroseconds: to, text }) => [
        { words: plain(trialTime(from)) },
        { words: plain(trialTime(to)) },
        { words: plain(((to - from) / 1_000_000).toFixed(1)) },
        { words: plain(text) },
      ]),
      totals: [],
      notes: [],
    });
  }
  return { id: 'happened', heading: 'What happened', joined: true, blocks };
}

/** What nobody may read out of it. */
export function cautionsSection(source: ReportSource): Section {
  const { header } = source.record;
  const { assessment, seal } = source;
  const items: Words[] = [
    ...(header.virtual ? [[strong(reportWords.virtual)]] : []),
    plain('A result tells what was tested, on that day, with that aerosol, by that person in that ensemble.'),
    plain('It tells nothing about gases or vapours, and it is no protection factor for a workplace.'),
    plain(
      'Each probe was looked at for part of each exercise only. What the rest of the exercise did is not known; the ' +
        'interval of the whole exercise says how much it can matter.',
    ),
    plain('No single value here meets or misses a requirement by itself.'),
    plain(
      'Chamberside is not a medical device. It replaces neither medical supervision nor the approval of an ethics ' +
        'board.',
    ),
    ...(assessment.trialHead === seal.head
      ? []
      : [plain('The assessment was made before the trial was sealed: what was recorded later is not in its values.')]),
  ];
  return { id: 'cautions', heading: 'Cautions', joined: true, blocks: [{ block: 'list', items, care: true }] };
}

/** What proves that the numbers rest on what was recorded. */
export function proofSection(source: ReportSource): Section {
  const { seal, assessment, frozen, record, study } = source;
  const rows: Facts['rows'] = [
    { name: 'Head of the trial’s chain', value: [wire(seal.head)] },
    { name: 'Links', value: plain(groupedNumber(seal.count)) },
    { name: 'Trial', value: [wire(record.header.trial)] },
    { name: 'Study', value: [wire(study.study)] },
    { name: 'Sealed', value: plain(momentInWords(seal.at)) },
    { name: `Head of the seals, seal${nbsp}${seal.seal}`, value: [wire(seal.sealDigest)] },
    { name: 'Assessment', value: words`${wire(assessment.assessment)}, digest ${wire(assessment.digest)}` },
    { name: 'Method', value: [wire(assessment.methodDigest)] },
    { name: 'Report made by', value: plain(`Chamberside ${source.program}`) },
  ];
  return {
    id: 'proof',
    heading: 'Hashes and heads of the chain',
    blocks: [
      {
        block: 'paragraph',
        words: plain(
          'When this report was made, the chain of this trial, its seal and this assessment were walked from end ' +
            'to end, and ' +
            'nothing differed from what was recorded and sealed. To check a study file against this page: ' +
            '“chamberside verify --study FILE” prints the same heads. All digests are SHA-256.',
        ),
      },
      { block: 'facts', rows },
      {
        block: 'table',
        caption: 'Frozen when the trial began',
        columns: [
          { heading: 'Part', align: 'left', width: 1.4 },
          { heading: 'Digest', align: 'left', width: 8 },
        ],
        rows: frozen.map(({ part, digest }) => [{ words: plain(part) }, { words: [wire(digest)] }]),
        totals: [],
        notes: [],
      },
    ],
  };
}
