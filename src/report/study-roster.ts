import { voidingWords } from '../model/voiding.ts';
import { checkWords, reviewWords, type LeftOut, type RosterRow } from '../study/study-trial.ts';
import type { StudySummary } from '../study/study-summary.ts';
import type { Block, Section, TableCell, Words } from './document.ts';
import { given, plain, strong, wire, words } from './document.ts';
import { methodSteps } from './method-section.ts';
import { momentInWords } from './moments.ts';
import { counted, groupedNumber, nbsp } from './numbers.ts';
import type { StudyReportSource } from './study-source.ts';
import { cellOf, leakageText, shareText } from './study-words.ts';
import { reportWords } from './words.ts';

const leftOutWords: Readonly<Record<LeftOut, string>> = {
  void: 'void',
  'no-result': 'no value',
  'not-assessed': 'not assessed',
  virtual: 'virtual, left out',
  'not-above-zero': 'mean not above zero, and no detection limit known',
  'what-if': 'left out',
};

/** Every trial of the study, also those in no figure, with why. */
export function rosterSection({ roster, counts }: StudySummary): Section {
  const rows = roster.map((row, index): TableCell[] => [
    cellOf(String(index + 1)),
    { words: [given(row.subject)] },
    { words: [given(row.ensemble)] },
    cellOf(row.createdAt.slice(0, 10)),
    { words: plain(leakageText(row.whole)), flagged: row.cellsFlagged > 0 },
    cellOf(row.assessed ? `${row.cellsFlagged} / ${row.cellsMissing} / ${row.cells}` : '–'),
    { words: standing(row) },
  ]);
  const out = counts.trials - counts.counted;
  return {
    ...{ id: 'trials', heading: 'Trials' },
    blocks: [
      {
        block: 'paragraph',
        words: plain(
          `${counted(counts.trials, 'trial', 'trials')}: in the figures ${counts.counted}, in none ${out}. Sealed ` +
            `${counts.sealed}, void ${counts.void}, without a value ${counts.noResult}, with values in doubt ` +
            `${counts.flagged}, of the virtual rig ${counts.virtual}.`,
        ),
      },
      {
        block: 'table',
        caption: 'Trials in the order in which they were begun; leakage over the whole, percent of the challenge',
        columns: [
          { heading: 'No.', align: 'left', width: 0.9 },
          { heading: 'Subject', align: 'left', width: 1.5 },
          { heading: 'Ensemble', align: 'left', width: 2.4 },
          { heading: 'Day', align: 'left', width: 2 },
          { heading: 'Leakage, %', align: 'right', width: 1.7 },
          { heading: 'In doubt / missing / of', align: 'right', width: 1.8 },
          { heading: 'Standing', align: 'left', width: 5 },
        ],
        rows,
        totals: [],
        notes: [plain('Cells are the values of an exercise at a probe. Days in UTC.')],
      },
    ],
  };
}

function standing(row: RosterRow): Words {
  const { leftOut, sealed, virtual, voided, releasedBy, review, doubtfulChecks } = row;
  const said = [
    ...(voided === null ? [] : [voidingWords(voided)]),
    ...(leftOut === null || voided !== null ? [] : [sealed ? leftOutWords[leftOut] : 'not sealed']),
    ...(virtual && leftOut !== 'virtual' ? ['virtual rig'] : []),
    ...(row.continues ? ['goes on where another was stopped'] : []),
    ...(doubtfulChecks.length === 0 ? [] : [`rests on ${checkWords(doubtfulChecks)}`]),
    ...(review === null ? [] : [reviewWords(review)]),
    ...(releasedBy === null ? [] : [`released by ${releasedBy}`]),
  ];
  return said.length === 0 ? plain('–') : [given(said.join('; '))];
}

/** Who signed what, and which trials were made void, oldest first. */
export function studySignatureSection({ trials, signatures, voidings }: StudyReportSource): Section {
  const numberOf = new Map(trials.map(({ trial }, index) => [trial, String(index + 1)]));
  const real = trials.filter(({ virtual, seal }) => !virtual && seal !== null);
  const released = real.filter((trial) => trial.released !== undefined).length;
  const blocks: Block[] = [
    {
      block: 'paragraph',
      words:
        real.length === 0
          ? plain('No trial of a real ensemble is sealed: there is nothing to release.')
          : plain(`Of ${counted(real.length, 'sealed real trial', 'sealed real trials')}, released: ${released}.`),
    },
  ];
  if (signatures.length > 0) {
    blocks.push({
      block: 'table',
      caption: 'What was signed, oldest first',
      columns: [
        { heading: 'When', align: 'left', width: 3.4 },
        { heading: 'Trial', align: 'left', width: 1 },
        { heading: 'Person', align: 'left', width: 1.6 },
        { heading: 'Signed as', align: 'left', width: 2.2 },
        { heading: 'Reason', align: 'left', width: 5 },
      ],
      rows: signatures.map(({ createdAt, trial, person, step, reason, rehearsal }) => [
        cellOf(momentInWords(createdAt)),
        cellOf(numberOf.get(trial) ?? '–'),
        { words: [given(person)] },
        cellOf(`${step === 'withdrawn' ? 'the last one taken back' : step}${rehearsal ? ', as a rehearsal' : ''}`),
        { words: [given(reason)] },
      ]),
      totals: [],
      notes: [
        ...[...new Set(signatures.flatMap(({ key }) => (key === null ? [] : [key.fingerprint])))].map(
          (fingerprint) => words`Releases are signed by the key ${wire(fingerprint)}, Ed25519.`,
        ),
        plain(
          'A signature shows that somebody knew a PIN, not who sat at the keyboard; its time is the computer’s; that ' +
            'the instruments were right is signed by nobody.',
        ),
      ],
    });
  }
  if (voidings.length > 0) {
    blocks.push({
      block: 'table',
      caption: 'Decisions that a trial is void, oldest first',
      columns: [
        { heading: 'When', align: 'left', width: 3.4 },
        { heading: 'Trial', align: 'left', width: 1 },
        { heading: 'Reviewer', align: 'left', width: 1.6 },
        { heading: 'Decision', align: 'left', width: 2.2 },
        { heading: 'Reason', align: 'left', width: 5 },
      ],
      rows: voidings.map(({ createdAt, trial, person, decision, reason }) => [
        cellOf(momentInWords(createdAt)),
        cellOf(numberOf.get(trial) ?? '–'),
        { words: [given(person)] },
        cellOf(decision === 'void' ? 'void' : 'taken back'),
        { words: [given(reason)] },
      ]),
      totals: [],
      notes: [],
    });
  }
  return { id: 'signatures', heading: 'Signatures and releases', joined: true, blocks };
}

/** By what the trials were assessed, and how the figures of the study come from them. */
export function methodsSection({ methods, trials }: StudyReportSource, { questions }: StudySummary): Section {
  const blocks = methods.flatMap(({ digest, method }): Block[] => {
    const own = trials.filter(({ assessment }) => assessment?.methodDigest === digest).length;
    const named = words`${strong(`“${given(method.name).text}”, version ${method.version}`)}: of `;
    return [
      { block: 'paragraph', words: [...named, ...words`${counted(own, 'trial', 'trials')}. Digest ${wire(digest)}.`] },
      { block: 'list', items: methodSteps(method) },
    ];
  });
  const sure = shareText(questions.confidence);
  const items = [
    'The leakage of a trial is the arithmetic mean of its cells; at a probe, of the cells of that probe. Below the ' +
      'mean detection limit of its cells it counts as below that limit, and no other number stands for it.',
    'Subjects are the unit of every interval: several trials of a subject in an ensemble become one value, their ' +
      'geometric mean.',
    `Means: of logarithms, intervals by t, ${sure}. With values below a limit by maximum likelihood, approximate.`,
    'Ratios: paired by subject where at least three wore both, by Welch where nobody did; simultaneous by Bonferroni ' +
      'at each place.',
    'Tolerance limit: exact factor of the noncentral t. Shares: Clopper and Pearson, exact.',
  ].map(plain);
  return {
    ...{ id: 'methods', heading: 'How it was computed' },
    blocks: [...blocks, { block: 'heading', text: 'From trials to the study' }, { block: 'list', items }],
  };
}

/** What nobody may read out of it. */
export function studyCautionsSection(virtual: boolean): Section {
  const items: Words[] = [
    ...(virtual ? [[strong(reportWords.virtual)]] : []),
    plain('A result tells what was tested, with that aerosol, by those people in those ensembles.'),
    plain('It tells nothing about gases or vapours, and it is no protection factor for a workplace.'),
    plain('Whether leakage is lognormal, and whether the order of wearing mattered, it cannot prove.'),
    plain(
      'Chamberside is not a medical device. It replaces neither medical supervision nor the approval of an ethics ' +
        'board.',
    ),
  ];
  return { id: 'cautions', heading: 'Cautions', joined: true, blocks: [{ block: 'list', items, care: true }] };
}

/** What proves that the numbers rest on what was recorded. */
export function studyProofSection({ study, trials, sealHead, program }: StudyReportSource): Section {
  const sealed = trials.filter(({ seal }) => seal !== null).length;
  return {
    ...{ id: 'proof', heading: 'Hashes and heads of the chain' },
    blocks: [
      {
        block: 'paragraph',
        words: plain(
          'When this report was made, the whole study file was walked from end to end, and nothing differed from ' +
            'what was recorded and sealed. To check a study file against these pages: “chamberside verify --study ' +
            'FILE” prints the same heads. All digests are SHA-256.',
        ),
      },
      {
        block: 'facts',
        rows: [
          { name: 'Study', value: [wire(study.study)] },
          { name: 'Sealed trials', value: plain(groupedNumber(sealed)) },
          { name: 'Head of the seals', value: [wire(sealHead)] },
          { name: 'Report made by', value: plain(`Chamberside ${program}`) },
        ],
      },
      {
        block: 'table',
        caption: 'Head of the chain of each trial, and the assessment that counts',
        columns: [
          { heading: 'Trial, number in the list', align: 'left', width: 3 },
          { heading: 'Head', align: 'left', width: 5.6 },
          { heading: 'Assessment', align: 'left', width: 5.6 },
        ],
        rows: trials.map(({ trial, seal, assessment }, index) => [
          { words: words`${wire(trial)} no.${nbsp}${index + 1}` },
          { words: seal === null ? plain('not sealed') : [wire(seal.head)] },
          { words: assessment === null ? plain('–') : [wire(assessment.digest)] },
        ]),
        totals: [],
        notes: [],
      },
    ],
  };
}
