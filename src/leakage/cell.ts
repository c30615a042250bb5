import type { Exercise } from '../model/series.ts';
import type { Cell } from './assessment.ts';
import { weightedContributions } from './budget/contribution.ts';
import type { Contributions } from './budget/contribution.ts';
import { budgetGapNames } from './budget/line.ts';
import type { SliceScatter } from './budget/slice.ts';
import { statedUncertainty, uncertaintyOf } from './budget/uncertainty.ts';
import type { LineFreedom } from './budget/uncertainty.ts';
import { distinctDoubts, doubt, figure, flagsOf } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { castsDoubt } from './flag.ts';
import type { AssessedPart } from './part.ts';
import type { RecordedDwell } from './recorded-dwell.ts';

/**
 * The dwells that stand for one exercise and probe: those of the last attempt, one for each position, the last
 * complete one. Dwells that were cut short are used only when no complete one exists.
 */
export function dwellsOfCell(
  dwells: readonly RecordedDwell[],
  exercise: string,
  probe: string,
  attempt: number,
): RecordedDwell[] {
  const own = dwells.filter(
    ({ dwell }) =>
      dwell.purpose === 'probe' && dwell.exercise === exercise && dwell.probe === probe && dwell.attempt === attempt,
  );
  const complete = own.filter((candidate) => candidate.complete);
  const byPosition = new Map<number | null, RecordedDwell>();
  for (const candidate of complete.length > 0 ? complete : own)
    byPosition.set(candidate.dwell.dwellPosition, candidate);
  return [...byPosition.values()];
}

/** A cell with what it comes from. */
export interface AssessedCell {
  readonly shown: Cell;
  readonly parts: readonly AssessedPart[];
  /** Share of each part in the value; 0 for those that have none. */
  readonly weights: readonly number[];
  /** Of the value, by input; null where there is no value or its budget lacks something. */
  readonly contributions: Contributions | null;
  /** By which the interval of the whole exercise is stated; null where there is none. */
  readonly slice: SliceScatter | null;
  /** What raised the flags of `shown`. */
  readonly doubts: readonly Doubt[];
}

/**
 * Combines the parts of a cell, each weighted with the length of its window. At zero leakage the windows of the
 * parts are independent, while zero and background are counted as one input that all parts share.
 */
export function makeCell(
  exercise: Exercise,
  probe: string,
  attempt: number,
  parts: readonly AssessedPart[],
  limitFactor: number,
  freedom: LineFreedom,
): AssessedCell {
  const doubts: Doubt[] = [];
  if (parts.length < exercise.dwellsPerProbe) {
    const count = figure(parts.length, exercise.dwellsPerProbe, 'dwells');
    doubts.push(doubt('incomplete', null, 'dwells of the exercise at the probe', count));
  }
  for (const part of parts) doubts.push(...part.doubts);

  const used = parts.filter(({ shown }) => shown.windowPercent !== null);
  if (used.length < parts.length) {
    doubts.push(doubt('incomplete', null, 'dwells with a number', figure(used.length, parts.length, 'dwells')));
  }
  let length = 0;
  for (const { lengthMicroseconds } of used) length += lengthMicroseconds;
  let percent = 0;
  let windowVariance = 0;
  let sharedNoise = 0;
  let limitKnown = used.length > 0;
  let readings = 0;
  for (const { shown, lengthMicroseconds, windowNoisePercent, sharedNoisePercent } of used) {
    const weight = lengthMicroseconds / length;
    percent += weight * (shown.windowPercent ?? 0);
    windowVariance += (weight * windowNoisePercent) ** 2;
    sharedNoise += weight * sharedNoisePercent;
    readings += shown.reading?.readings ?? 0;
    if (shown.detectionLimitPercent === null) limitKnown = false;
  }
  const windowPercent = used.length > 0 ? percent : null;
  const detectionLimitPercent = limitKnown
    ? limitFactor * Math.hypot(Math.sqrt(windowVariance), sharedNoise)
    : null;
  if (windowPercent !== null && detectionLimitPercent !== null && windowPercent < detectionLimitPercent) {
    const measured = figure(windowPercent, detectionLimitPercent, 'percent');
    doubts.push(doubt('below-detection-limit', null, 'the value', measured));
  }
  const flags = flagsOf(doubts);
  const found = new Set(used.flatMap(({ budget }) => budget?.gaps ?? budgetGapNames));
  const budgetGaps = budgetGapNames.filter((gap) => found.has(gap));
  const contributions =
    windowPercent === null || budgetGaps.length > 0
      ? null
      : weightedContributions(
          used.flatMap(({ budget, lengthMicroseconds }) =>
            budget === null ? [] : [{ weight: lengthMicroseconds / length, contributions: budget.contributions }],
          ),
        );
  const doubtful =
    windowPercent === null || contributions === null ? null : uncertaintyOf(windowPercent, contributions, freedom);
  const shown: Cell = {
    exercise: exercise.exercise,
    probe,
    dwellPosition: parts[0]?.shown.dwellPosition ?? null,
    attempt,
    windowPercent,
    ...statedUncertainty(doubtful),
    budgetGaps,
    exercisePercent: null,
    exerciseLowPercent: null,
    exerciseHighPercent: null,
    detectionLimitPercent,
    readings,
    parts: parts.map((part) => part.shown),
    flags,
    flagged: castsDoubt(flags),
  };
  const weights = parts.map((part) => (used.includes(part) ? part.lengthMicroseconds / length : 0));
  return { shown, parts, weights, contributions, slice: null, doubts: distinctDoubts(doubts) };
}
