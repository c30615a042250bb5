import type { Assessment, Cell } from '../../leakage/assessment.ts';
import { segmentAt, toMicroseconds, type TimeSegment } from '../../model/time.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { TruthReader } from '../rig/truth-reader.ts';

/** A cell beside the truth: what the rig really leaked while the probe was looked at, and over the exercise. */
export interface JudgedCell extends Cell {
  /** True leakage over the very windows, on probe time, of which windowPercent is made; null where unknown. */
  readonly truthPercent: number | null;
  /** True leakage from the end of the lead-in to the end of the exercise. */
  readonly truthExercisePercent: number | null;
  /** |window − truth| ≤ the greater of 8 % of the truth and three detection limits; null where not comparable. */
  readonly withinTolerance: boolean | null;
}

const toleranceShare = 0.08;
const toleranceDetectionLimits = 3;

/** A stretch of trial time on the rig's monotonic clock; null when a restart lies inside. */
function onMonotonicClock(
  segments: readonly TimeSegment[],
  fromMicroseconds: number,
  toMicroseconds_: number,
): { readonly from: number; readonly to: number } | null {
  const index = segmentAt(segments, fromMicroseconds);
  const segment = segments[index];
  if (segment === undefined || segmentAt(segments, toMicroseconds_) !== index) return null;
  const shift = segment.monotonicOriginMicroseconds - segment.beginsAtMicroseconds;
  return { from: fromMicroseconds + shift, to: toMicroseconds_ + shift };
}

function exerciseStretch(record: TrialRecord, cell: Cell): { readonly from: number; readonly to: number } | null {
  const definition = record.series.exercises.find((exercise) => exercise.exercise === cell.exercise);
  let began: number | null = null;
  let ended: number | null = null;
  for (const event of record.events) {
    if (event.kind === 'exercise-began' && event.exercise === cell.exercise && event.attempt === cell.attempt) {
      began = event.atMicroseconds;
      ended = null;
    }
    if (event.kind === 'exercise-ended' && event.exercise === cell.exercise && event.attempt === cell.attempt) {
      ended = event.atMicroseconds;
    }
  }
  if (definition === undefined || began === null || ended === null) return null;
  return onMonotonicClock(record.segments, began + toMicroseconds(definition.leadInSeconds), ended);
}

/** Mean of the truth over the parts of a cell, weighted as the cell weights them: by the length of the window. */
function truthOfParts(record: TrialRecord, cell: Cell, truth: TruthReader): number | null {
  let weighted = 0;
  let weights = 0;
  for (const part of cell.parts) {
    if (part.windowPercent === null || part.reading === null) continue;
    const { probeFromMicroseconds, probeToMicroseconds } = part.reading;
    const stretch = onMonotonicClock(record.segments, probeFromMicroseconds, probeToMicroseconds);
    const percent = stretch === null ? null : truth.leakagePercent(cell.probe, stretch.from, stretch.to);
    if (percent === null) return null;
    weighted += percent * (probeToMicroseconds - probeFromMicroseconds);
    weights += probeToMicroseconds - probeFromMicroseconds;
  }
  return weights > 0 ? weighted / weights : null;
}

/** Puts the truth beside every cell of an assessment. The assessment itself is not touched. */
export function joinTruth(record: TrialRecord, assessment: Assessment, truth: TruthReader | null): JudgedCell[] {
  return assessment.cells.map((cell) => {
    if (truth === null) return { ...cell, truthPercent: null, truthExercisePercent: null, withinTolerance: null };
    const truthPercent = truthOfParts(record, cell, truth);
    const stretch = exerciseStretch(record, cell);
    const truthExercisePercent = stretch === null ? null : truth.leakagePercent(cell.probe, stretch.from, stretch.to);
    return { ...cell, truthPercent, truthExercisePercent, withinTolerance: isWithinTolerance(cell, truthPercent) };
  });
}

function isWithinTolerance(cell: Cell, truthPercent: number | null): boolean | null {
  if (truthPercent === null || cell.windowPercent === null) return null;
  const limits = toleranceDetectionLimits * (cell.detectionLimitPercent ?? 0);
  return Math.abs(cell.windowPercent - truthPercent) <= Math.max(toleranceShare * truthPercent, limits);
}
