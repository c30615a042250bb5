import { join } from 'node:path';
import type { ScatterAnswer, ShownScatter } from '../../bridge/scatter.ts';
import type { Assessment, DwellMean } from '../../leakage/assessment.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import { failureOf } from '../failure.ts';
import { countingAssessment } from '../store/assessments.ts';
import { storageError } from '../store/database.ts';
import { readTrialPlan } from '../store/read.ts';
import { listStudies } from './study-jobs.ts';

/** So many trials are looked at, newest first: more would be those of another year. */
const mostTrials = 20;

/**
 * What the newest assessed trial on a rig has shown of scatter: of that name, with the same nominal challenge and the
 * same photometer, so that its readings mean the same. Void trials are passed over; what cannot be read is too, and
 * named: it may have been the one.
 */
export function readScatter(folder: string, rig: Rig): ScatterAnswer {
  const studies = listStudies(folder);
  const unread: ScatterAnswer['unread'] = studies.flatMap(({ failure, file }) =>
    failure === null ? [] : [{ file, trial: null, failure }],
  );
  const trials = studies
    .flatMap(({ file, trials: rows }) => rows.map((row) => ({ file, row })))
    .filter(({ row }) => row.standing === 'assessed' && row.voided === null && row.virtual === rig.virtual)
    .sort((one, other) => other.row.createdAt.localeCompare(one.row.createdAt))
    .slice(0, mostTrials);
  for (const { file, row } of trials) {
    const path = join(folder, file);
    const { createdAt, trial } = row;
    try {
      const plan = readTrialPlan(path, trial);
      if (!sameReadings(plan.rig, rig)) continue;
      const document = countingAssessment(path, trial);
      const details = document?.details as Partial<Assessment> | null | undefined;
      const found = document === null || details == null ? null : scatterOf(details, document.method);
      if (found !== null) return { shown: { trial, createdAt, rigVersion: plan.rig.version, ...found }, unread };
    } catch (error) {
      unread.push({ file, trial, failure: failureOf(storageError(error, path)) });
    }
  }
  return { shown: null, unread };
}

/** Null where it does not say how often was read: stored by an older program, not everything need be there. */
function scatterOf(
  details: Partial<Assessment>,
  method: Method,
): Pick<ShownScatter, 'blank' | 'slice' | 'intervalSeconds'> | null {
  // A mean that is corrected for lag stands for less than its readings, by one end (`lagCorrectedMean`).
  const endSeconds = method.lagCorrection ? method.lagEndSeconds : 0;
  const secondsOf = ({ arrivalFromMicroseconds, arrivalToMicroseconds }: DwellMean): number =>
    (arrivalToMicroseconds - arrivalFromMicroseconds) / 1e6 + endSeconds;
  const zero = details.zeros?.find(({ readings }) => readings > 1);
  const intervalSeconds = zero === undefined ? 0 : secondsOf(zero) / zero.readings;
  if (!(intervalSeconds > 0)) return null;
  const windows = (details.cells ?? []).flatMap(({ parts }) =>
    parts.flatMap(({ reading }) => (reading === null ? [] : [secondsOf(reading)])),
  );
  const { blank = null, slice = null } = details;
  const windowSeconds = windows.reduce((sum, one) => sum + one, 0) / windows.length;
  return {
    blank: blank === null ? null : { ...blank },
    intervalSeconds,
    slice: slice === null || !(windowSeconds > 0) ? null : { ...slice, windowSeconds },
  };
}

function sameReadings(one: Rig, other: Rig): boolean {
  const photometerOf = (rig: Rig): string => {
    const found = rig.instruments.find(({ instrument }) => instrument === rig.photometer);
    return JSON.stringify([found?.dialect, rig.photometerStream, rig.challenge.nominal]);
  };
  return one.name === other.name && photometerOf(one) === photometerOf(other);
}
