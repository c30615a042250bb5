import { existsSync, mkdirSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { StudyRow, TrialRow } from '../../bridge/snapshot.ts';
import type { TrialStanding } from '../../bridge/snapshot.ts';
import type { StudyView, WhatIfAsked } from '../../bridge/study.ts';
import { castsDoubt } from '../../leakage/flag.ts';
import type { Flag } from '../../leakage/flag.ts';
import { toSeconds } from '../../model/time.ts';
import { summariseStudy, usualQuestions } from '../../study/study-summary.ts';
import type { StoredAssessment, TrialSummary } from '../store/contract.ts';
import { storageError } from '../store/database.ts';
import { readStudyOverview } from '../store/read.ts';
import { readStudyRows, readStudyRowsBeside } from '../store/study-rows.ts';
import { createStudy } from '../store/create-study.ts';
import { failureOf } from '../failure.ts';
import { fileDamaged } from '../file-error.ts';

export const studyEnding = '.chamberside';

/** Rows for every study file in a folder, by file name; one that cannot be read is a row with a failure. */
export function listStudies(folder: string): StudyRow[] {
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((file) => file.endsWith(studyEnding) && !file.startsWith('.'))
    .sort()
    .map((file) => studyRow(folder, file));
}

function studyRow(folder: string, file: string): StudyRow {
  const path = join(folder, file);
  try {
    const { study: identity, trials: recorded, assessments, releases } = readStudyOverview(path);
    const { study, name, createdAt } = identity;
    const counting = new Map(assessments.map((assessment) => [assessment.trial, assessment]));
    for (const [trial, { assessment: released }] of releases) {
      const found = assessments.find(({ assessment }) => assessment === released);
      const gone = `Assessment ${released} of ${trial} was released and is not there`;
      if (found === undefined) throw fileDamaged(gone, path);
      counting.set(found.trial, found);
    }
    const trials = recorded.map((trial) => trialRow(trial, counting.get(trial.trial)));
    return { file, study, name, createdAt, trials, failure: null };
  } catch (error) {
    const failure = failureOf(storageError(error, path));
    return { file, study: null, name: file.slice(0, -studyEnding.length), createdAt: null, trials: [], failure };
  }
}

function trialRow(trial: TrialSummary, assessment: StoredAssessment | undefined): TrialRow {
  const { header } = trial;
  return {
    trial: trial.trial,
    subject: header.subject,
    ensemble: header.ensemble,
    operator: header.operator,
    virtual: header.virtual,
    createdAt: trial.createdAt,
    standing: standingOf(trial, assessment !== undefined),
    voided: trial.voided === null ? null : { person: trial.voided.person, reason: trial.voided.reason },
    recordedSeconds: toSeconds(trial.throughMicroseconds),
    cells:
      assessment === undefined
        ? null
        : {
            all: assessment.cells.length,
            flagged: assessment.cells.filter((cell) => castsDoubt(cell.flags as readonly Flag[])).length,
          },
  };
}

/** Of a trial that nobody records. */
export function standingOf(trial: Pick<TrialSummary, 'phase' | 'sealed'>, assessed: boolean): TrialStanding {
  if (trial.sealed !== null) return assessed ? 'assessed' : 'sealed';
  return trial.phase === 'closed' ? 'closed' : 'interrupted';
}

/** A study over its trials, without limits beside those of their plans. */
export function readStudySummary(path: string, file: string): StudyView {
  const { study, trials, probes, methods } = readStudyRows(path);
  return { file, name: study.name, probes, methods, summary: summariseStudy(trials, usualQuestions) };
}

/** The same with something otherwise, to see what hangs on it. The file is only read. */
export function readWhatIf(path: string, { file, without, method }: WhatIfAsked): StudyView {
  const { standing, otherwise } = readStudyRowsBeside(path, method);
  const { study, trials, probes, methods } = otherwise;
  const stands = summariseStudy(standing.trials, usualQuestions);
  const summary = summariseStudy(trials, usualQuestions, new Set(without), stands);
  return { file, name: study.name, probes, methods, summary };
}

/** Creates a study under a file name made from its own, with a number where that is taken. */
export function createStudyFile(folder: string, name: string, now: string): string {
  mkdirSync(folder, { recursive: true });
  const stem = fileStem(name);
  for (let number = 1; ; number += 1) {
    const file = `${stem}${number === 1 ? '' : `-${number}`}${studyEnding}`;
    if (existsSync(join(folder, file))) continue;
    createStudy(join(folder, file), name, now);
    return file;
  }
}

/** Letters and digits of a name, joined by hyphens: a file name on every system. */
export function fileStem(name: string): string {
  const stem = name
    .normalize('NFKD')
    .toLowerCase()
    .replace(/\p{M}+/gu, '')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 60);
  return stem === '' ? 'study' : stem;
}
