import type { TrialResult } from '../../bridge/result.ts';
import type { Assessment, Cell, CellMean } from '../../leakage/assessment.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import { tellStory } from '../runtime/view/trial-story.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import type { TrialSummary } from '../store/contract.ts';

/** What the result screen shows of a recorded trial. Pure. */
export function resultView(
  file: string,
  summary: TrialSummary,
  record: TrialRecord,
  document: AssessmentDocument | null,
): TrialResult {
  const story = tellStory(record.events);
  return {
    file,
    trial: summary.trial,
    header: record.header,
    rig: record.rig,
    series: record.series,
    streams: record.streams.map(({ descriptor }) => descriptor),
    createdAt: summary.createdAt,
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
    notes: story.notes.map(({ atMicroseconds, kind, text }) => ({ atMicroseconds, kind, text })),
    assessment: document === null ? null : assessmentView(document),
  };
}

type Gap = TrialResult['gaps'][number];

/** Breaks of the recording, and stretches in which an instrument was not connected; in order of their beginning. */
export function gapsOf(record: TrialRecord, endMicroseconds: number): Gap[] {
  const gaps: Gap[] = [];
  for (const segment of record.segments) {
    if (segment.reason === 'start') continue;
    const to = segment.beginsAtMicroseconds;
    const from = lastBefore(record, to);
    const text = segment.reason === 'wake' ? 'The machine slept.' : 'The program did not run.';
    if (from < to) gaps.push({ fromMicroseconds: from, toMicroseconds: to, text });
  }
  const lostAt = new Map<string, number>();
  for (const event of record.events) {
    if (event.kind !== 'problem') continue;
    const { code, instrument } = event.problem;
    if (code === 'connection-lost' && !lostAt.has(instrument)) lostAt.set(instrument, event.atMicroseconds);
    const from = lostAt.get(instrument);
    if (code !== 'connection-restored' || from === undefined) continue;
    gaps.push(lossOf(instrument, from, event.atMicroseconds));
    lostAt.delete(instrument);
  }
  for (const [instrument, from] of lostAt)
    if (from < endMicroseconds) gaps.push(lossOf(instrument, from, endMicroseconds));
  return gaps.sort((one, other) => one.fromMicroseconds - other.fromMicroseconds);
}

function lossOf(instrument: string, fromMicroseconds: number, toMicroseconds: number): Gap {
  return { fromMicroseconds, toMicroseconds, text: `${instrument} was not connected.` };
}

/** Last thing that was recorded before a moment: a reading or an event. */
function lastBefore(record: TrialRecord, atMicroseconds: number): number {
  let last = 0;
  const hold = (event: TrialEvent): void => {
    if (event.atMicroseconds < atMicroseconds) last = Math.max(last, event.atMicroseconds);
  };
  record.events.forEach(hold);
  for (const stream of record.streams) {
    for (const at of stream.atMicroseconds) if (at < atMicroseconds && at > last) last = at;
  }
  return last;
}

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
  };
}

function meanView(mean: CellMean): NonNullable<TrialResult['assessment']>['overall'] {
  const { windowPercent, protectionFactor, cells, cellsFlagged, cellsMissing } = mean;
  return { windowPercent, protectionFactor, cells, cellsFlagged, cellsMissing };
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
    flags: [...cell.flags],
    flagged: cell.flagged,
    windows: cell.parts.flatMap((part) =>
      part.reading === null
        ? []
        : [
            {
              dwell: part.dwell,
              fromMicroseconds: part.reading.arrivalFromMicroseconds,
              toMicroseconds: part.reading.arrivalToMicroseconds,
            },
          ],
    ),
  };
}
