import type { TrialResult } from '../../bridge/result.ts';
import type { Assessment, Cell, CellMean } from '../../leakage/assessment.ts';
import { budgetGapWords } from '../../leakage/budget/line.ts';
import { castsDoubt } from '../../leakage/flag.ts';
import type { Flag } from '../../leakage/flag.ts';
import { repeatOffer } from '../../trial/repeat.ts';
import { afterInWords, afterOfRecord, hasEntered } from '../../trial/after.ts';
import { gapsOfRecord } from '../../model/record-gaps.ts';
import { subjectPerson } from '../../model/trial-event.ts';
import type { Identifier } from '../../model/identity.ts';
import type { Voiding } from '../../model/voiding.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import { tellStory } from '../runtime/view/trial-story.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import type { StoredSignature, TrialSummary } from '../store/contract.ts';

/** What was made of a trial after it was sealed. */
export interface BesideTheRecord {
  /** The assessment that counts. */
  readonly counting: AssessmentDocument | null;
  readonly assessments: readonly AssessmentDocument[];
  readonly voidings: readonly Voiding[];
  readonly signatures: readonly StoredSignature[];
  /** Trials that do it again. */
  readonly repeatedBy: readonly Identifier[];
}

/** What the result screen shows of a recorded trial. Pure. */
export function resultView(
  file: string,
  summary: TrialSummary,
  record: TrialRecord,
  beside: BesideTheRecord,
): TrialResult {
  const { assessments, counting, repeatedBy, signatures, voidings } = beside;
  const story = tellStory(record.events);
  return {
    file,
    trial: summary.trial,
    header: record.header,
    rig: record.rig,
    series: record.series,
    streams: record.streams.map(({ descriptor }) => descriptor),
    createdAt: summary.createdAt,
    voidings: [...voidings],
    sealed:
      summary.sealed === null
        ? null
        : { at: summary.sealed.at, head: summary.sealed.head, count: summary.sealed.count },
    endsAtMicroseconds: summary.throughMicroseconds,
    exercises: record.series.exercises.map(({ exercise, name }) => {
      const told = story.exercises.get(exercise);
      return {
        exercise,
        name,
        beganAtMicroseconds: told?.beganAtMicroseconds ?? null,
        endedAtMicroseconds: told?.endedAtMicroseconds ?? null,
      };
    }),
    dwells: [...story.dwells],
    gaps: gapsOf(record, summary.throughMicroseconds),
    stopped: stoppedIn(record.events),
    repeatedBy: [...repeatedBy],
    repeat: summary.sealed === null ? null : repeatOffer(record.series, record.events, summary.voided !== null),
    after: afterIn(record),
    notes: story.notes.map(({ atMicroseconds, kind, text }) => ({ atMicroseconds, kind, text })),
    assessments: assessments.map(assessmentRow),
    signatures: signatures.map(({ signature }) => {
      const { assessment, createdAt, key, number, person, reason, rehearsal, step } = signature;
      const fingerprint = key?.fingerprint ?? null;
      return { number, assessment, step, person, reason, createdAt, rehearsal, fingerprint };
    }),
    assessment: counting === null ? null : assessmentView(counting),
  };
}

function assessmentRow(document: AssessmentDocument, index: number): TrialResult['assessments'][number] {
  const { assessment, cells, createdAt, method, program, review } = document;
  // Stored by an older program, or by another one: not everything need be there.
  const details = document.details as Partial<Assessment> | null;
  return {
    assessment,
    position: index + 1,
    createdAt,
    program,
    methodName: method.name,
    methodVersion: method.version,
    review: review ?? null,
    leftOut: leftOutOf(details),
    overallPercent: details?.overall?.windowPercent ?? null,
    cells: cells.length,
    cellsFlagged: cells.filter(({ flags }) => castsDoubt(flags as readonly Flag[])).length,
  };
}

function leftOutOf(details: Partial<Assessment> | null): TrialResult['assessments'][number]['leftOut'] {
  return (details?.leftOut ?? []).map((stretch) => ({ ...stretch, dwells: [...stretch.dwells] }));
}

function stoppedIn(events: TrialRecord['events']): TrialResult['stopped'] {
  const stop = events.findLast((event) => event.kind === 'operator-action' && event.action === 'stop');
  if (stop?.kind !== 'operator-action') return null;
  const { atMicroseconds, note, person } = stop;
  return { atMicroseconds, by: person === subjectPerson ? 'subject' : 'person', person, text: note };
}

/** What was said after the trial. On a virtual rig nobody is inside: told only where somebody went through the list. */
function afterIn({ events, header }: TrialRecord): TrialResult['after'] {
  const lines = afterOfRecord(events);
  const answers = lines.flatMap(({ answer, item, title }) => {
    if (answer === null) return [];
    const { atMicroseconds, measured, note, persons } = answer;
    const word = afterInWords(item, answer.answer);
    return [{ title, word, found: answer.answer === 'noted', note, measured, persons, atMicroseconds }];
  });
  if (answers.length === 0 && (header.virtual || !hasEntered(events))) return null;
  return { open: lines.length - answers.length, answers };
}

/** What the trace must not draw a line through, in order of its beginning. */
function gapsOf(record: TrialRecord, endMicroseconds: number): TrialResult['gaps'] {
  return gapsOfRecord(record, endMicroseconds)
    .filter((gap) => gap.ofPhotometer)
    .map(({ fromMicroseconds, toMicroseconds, cause }) => ({
      fromMicroseconds,
      toMicroseconds,
      text: 'instrument' in cause ? gapWords[cause.kind](cause.instrument) : gapWords[cause.kind],
    }));
}

const gapWords = {
  wake: 'The machine slept.',
  restart: 'The program did not run.',
  lost: (instrument: string) => `${instrument} was not connected.`,
  silent: (instrument: string) => `${instrument} sent nothing that could be read.`,
};

function assessmentView(document: AssessmentDocument): NonNullable<TrialResult['assessment']> {
  const assessment = document.details as Assessment;
  return {
    assessment: document.assessment,
    methodName: document.method.name,
    methodVersion: document.method.version,
    program: document.program,
    createdAt: document.createdAt,
    cells: assessment.cells.map(cellView),
    probes: assessment.probes.map((mean) => ({ probe: mean.probe, ...meanView(mean) })),
    exercises: assessment.exercises.map((mean) => ({ exercise: mean.exercise, ...meanView(mean) })),
    overall: meanView(assessment.overall),
    flags: [...assessment.flags],
    review: document.review ?? null,
    leftOut: leftOutOf(assessment),
  };
}

function meanView(mean: CellMean): NonNullable<TrialResult['assessment']>['overall'] {
  const { windowPercent, protectionFactor, cells, cellsFlagged, cellsMissing } = mean;
  // Assessments from before the budget have none of these.
  const {
    windowLowPercent = null,
    windowHighPercent = null,
    exerciseLowPercent = null,
    exerciseHighPercent = null,
  } = mean as Partial<CellMean>;
  const intervals = { windowLowPercent, windowHighPercent, exerciseLowPercent, exerciseHighPercent };
  return { windowPercent, ...intervals, protectionFactor, cells, cellsFlagged, cellsMissing };
}

function withoutInterval(cell: Cell): string[] {
  if (cell.windowPercent === null || cell.windowLowPercent !== null) return [];
  const { budgetGaps } = cell as Partial<Cell>;
  return budgetGaps === undefined
    ? ['This assessment was made before the program had an uncertainty budget. Assess the trial again.']
    : budgetGaps.map((gap) => budgetGapWords[gap]);
}

function cellView(cell: Cell): NonNullable<TrialResult['assessment']>['cells'][number] {
  return {
    exercise: cell.exercise,
    probe: cell.probe,
    dwellPosition: cell.dwellPosition,
    windowPercent: cell.windowPercent,
    windowLowPercent: cell.windowLowPercent,
    windowHighPercent: cell.windowHighPercent,
    exercisePercent: cell.exercisePercent,
    exerciseLowPercent: cell.exerciseLowPercent,
    exerciseHighPercent: cell.exerciseHighPercent,
    detectionLimitPercent: cell.detectionLimitPercent,
    belowDetectionLimit: cell.flags.includes('below-detection-limit'),
    withoutInterval: withoutInterval(cell),
    flags: [...cell.flags],
    flagged: cell.flagged,
    windows: cell.parts.flatMap(({ dwell, reading }) =>
      // What is left out of a window is no part of it: each piece is drawn by itself.
      (reading === null ? [] : (reading.pieces ?? [reading])).map((piece) => ({
        dwell,
        fromMicroseconds: piece.arrivalFromMicroseconds,
        toMicroseconds: piece.arrivalToMicroseconds,
      })),
    ),
  };
}
