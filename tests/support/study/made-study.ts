import { openStudyForRecording } from '../../../src/host/store/recorder.ts';
import type { AssessmentCell, TrialDefinition } from '../../../src/host/store/contract.ts';
import type { Review } from '../../../src/leakage/review.ts';
import type { SupportingCheck } from '../../../src/model/supporting-check.ts';
import type { Identifier } from '../../../src/model/identity.ts';
import { gaussianSource } from '../gaussian.ts';
import { definition, host, method, recordSecond, rig, series, trialName } from '../store/trial.ts';

export const madeProbes = ['hood', 'chest', 'lower-back', 'thigh', 'ankle'];
const exercises = ['march', 'crawl'];
/** Geometric mean of ensemble A, percent, by probe; and how many times as much B leaks. */
const levels = [0.01, 0.07, 0.1, 0.2, 0.5];
const factors = [18, 4.7, 4.9, 2.2, 0.56];
/** Of every cell, percent. */
export const madeLimitPercent = 0.006;

export interface MadeStudy {
  readonly path: string;
  readonly name: string;
  readonly seed: number;
  readonly subjects: number;
  readonly ensembles: readonly string[];
  readonly repeats: number;
  readonly virtual: boolean;
  readonly requirementPercent?: number;
  /** Trials that stay unsealed, are not assessed, or carry flags: by their number from 1. */
  readonly unsealed?: readonly number[];
  readonly notAssessed?: readonly number[];
  readonly flagged?: readonly number[];
  /** Trials that rest on an overdue check, and those that the reviewer rita had assessed without a first stretch. */
  readonly overdue?: readonly number[];
  readonly reviewed?: readonly number[];
  /** Characters of what an assessment holds beside its cells; default 0. */
  readonly detailSize?: number;
  readonly unworn?: (subject: number, ensemble: number) => boolean;
}

const overdueCheck: SupportingCheck = {
  ...{ check: 'dilution', subject: 'ankle', name: 'dilution, Ankle', number: 7 },
  ...{ madeAt: '2026-01-04T08:00:00.000Z', standing: 'overdue' },
};
const stretch = { fromMicroseconds: 0, toMicroseconds: 1000, time: 'arrival', probe: null, reason: 'touched' } as const;
const madeReview: Review = { person: 'rita', reason: 'the probe was touched', leftOut: [stretch] };

/**
 * A study file with trials of a second each and assessments made up from a seed. Nothing in it was computed by the
 * program from readings: it is for what is done with many trials.
 * @returns identifiers of the trials in their order.
 */
export async function makeStudyFile(made: MadeStudy): Promise<Identifier[]> {
  const normal = gaussianSource(made.seed);
  const study = await openStudyForRecording({ path: made.path, create: { studyName: made.name }, hostId: host });
  const trials: Identifier[] = [];
  for (let subject = 1; subject <= made.subjects; subject += 1) {
    const own = 0.35 * normal();
    for (const [index, ensemble] of made.ensembles.entries()) {
      for (let repeat = 0; repeat < made.repeats; repeat += 1) {
        if (made.unworn?.(subject, index) === true) continue;
        const number = trials.length + 1;
        const trial = trialName(number);
        trials.push(trial);
        const plain = definitionOf(made, study.identity.study, trial, subject, ensemble);
        const isOverdue = made.overdue?.includes(number) === true;
        const header = { ...plain.header, ...(isOverdue ? { checks: [overdueCheck] } : {}) };
        const recorded = await study.createTrial({ ...plain, header });
        recordSecond(recorded, 0);
        if (made.unsealed?.includes(number) === true) {
          await recorded.abandon();
          continue;
        }
        await recorded.seal();
        if (made.notAssessed?.includes(number) === true) continue;
        const flags = made.flagged?.includes(number) === true ? ['gap'] : [];
        const cells = cellsOf(normal, own, index, flags);
        const details = { made: 'x'.repeat(made.detailSize ?? 0) };
        const review = made.reviewed?.includes(number) === true ? { review: madeReview } : {};
        await study.storeAssessment({ trial, method, program: '0.1.0', details, cells, ...review });
      }
    }
  }
  await study.close();
  return trials;
}

function definitionOf(
  made: MadeStudy,
  study: Identifier,
  trial: Identifier,
  subject: number,
  ensemble: string,
): TrialDefinition {
  const plain = definition(study, trial);
  const [air, reference, probe] = rig.ports as [(typeof rig.ports)[0], (typeof rig.ports)[0], (typeof rig.ports)[0]];
  const ports = madeProbes.map((name, index) => ({
    ...probe,
    port: 3 + index,
    probe: name,
    label: name.replace('-', ' '),
  }));
  return {
    ...plain,
    header: {
      ...plain.header,
      subject: `S${String(subject).padStart(2, '0')}`,
      ensemble,
      virtual: made.virtual,
      ...(made.requirementPercent === undefined ? {} : { requirementPercent: made.requirementPercent }),
    },
    rig: { ...rig, virtual: made.virtual, ports: [air, reference, ...ports] },
    series: {
      ...series,
      exercises: exercises.map((exercise) => ({ ...series.exercises[0]!, exercise, name: exercise })),
    },
  };
}

interface MadeCell extends AssessmentCell {
  readonly detectionLimitPercent: number;
}

function cellsOf(normal: () => number, subject: number, ensemble: number, flags: readonly string[]): MadeCell[] {
  return exercises.flatMap((exercise) =>
    madeProbes.map((probe, index): MadeCell => {
      const factor = (factors[index] ?? 1) ** ensemble;
      const percent = (levels[index] ?? 1) * factor * Math.exp(subject + 0.25 * normal());
      const isBelow = percent < madeLimitPercent;
      return {
        exercise,
        probe,
        dwellPosition: index + 1,
        windowPercent: percent,
        windowLowPercent: 0.9 * percent,
        windowHighPercent: 1.1 * percent,
        exercisePercent: percent,
        detectionLimitPercent: madeLimitPercent,
        flags: [...flags, ...(isBelow ? ['below-detection-limit'] : [])],
      };
    }),
  );
}
