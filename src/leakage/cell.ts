import type { Exercise } from '../model/series.ts';
import type { Cell } from './assessment.ts';
import type { Flag } from './flag.ts';
import { castsDoubt, orderFlags } from './flag.ts';
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

/**
 * Combines the parts of a cell, each weighted with the length of its window. At zero leakage the windows of the
 * parts are independent, while zero and background are counted as one input that all parts share.
 *
 * @param doubtsOfProbe what can be said only of all windows of the probe together.
 */
export function makeCell(
  exercise: Exercise,
  probe: string,
  attempt: number,
  parts: readonly AssessedPart[],
  detectionFactor: number,
  doubtsOfProbe: readonly Flag[],
): Cell {
  const flags = new Set<Flag>(doubtsOfProbe);
  if (parts.length < exercise.dwellsPerProbe) flags.add('incomplete');
  for (const { shown } of parts) for (const flag of shown.flags) flags.add(flag);

  const used = parts.filter(({ shown }) => shown.windowPercent !== null);
  if (used.length < parts.length) flags.add('incomplete');
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
    ? detectionFactor * Math.hypot(Math.sqrt(windowVariance), sharedNoise)
    : null;
  if (windowPercent !== null && detectionLimitPercent !== null && windowPercent < detectionLimitPercent) {
    flags.add('below-detection-limit');
  }
  return {
    exercise: exercise.exercise,
    probe,
    dwellPosition: parts[0]?.shown.dwellPosition ?? null,
    attempt,
    windowPercent,
    windowStandardPercent: null,
    windowLowPercent: null,
    windowHighPercent: null,
    windowExpandedPercent: null,
    degreesOfFreedom: null,
    exercisePercent: null,
    exerciseLowPercent: null,
    exerciseHighPercent: null,
    detectionLimitPercent,
    readings,
    parts: parts.map(({ shown }) => shown),
    flags: orderFlags(flags),
    flagged: castsDoubt(flags),
  };
}
