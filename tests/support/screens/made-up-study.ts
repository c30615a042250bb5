import type { StudyView, WhatIfAsked } from '../../../src/bridge/study.ts';
import { summariseStudy, usualQuestions } from '../../../src/study/study-summary.ts';
import type { StudyTrial } from '../../../src/study/study-trial.ts';
import { gaussianSource } from '../gaussian.ts';

const probes = [
  ['hood', 'Hood', 0.01, 18],
  ['chest', 'Chest', 0.07, 4.7],
  ['lower-back', 'Lower back', 0.1, 4.9],
  ['thigh', 'Thigh', 0.2, 2.2],
  ['ankle', 'Ankle', 0.5, 0.56],
] as const;
const detectionLimitPercent = 0.006;

interface MadeUpStudy {
  readonly file: string;
  readonly name: string;
  readonly subjects: number;
  readonly ensembles: readonly string[];
  readonly repeats?: number;
  readonly limits: readonly number[];
  /** What is unlike the rest, by the number of the trial from 0. */
  readonly unlike?: Readonly<Record<number, Partial<StudyTrial>>>;
}

function madeUpStudy(made: MadeUpStudy): StudyView {
  const normal = gaussianSource(11);
  const trials: StudyTrial[] = [];
  for (let subject = 1; subject <= made.subjects; subject += 1) {
    const own = 0.35 * normal();
    for (const [index, ensemble] of made.ensembles.entries()) {
      for (let repeat = 0; repeat < (made.repeats ?? 1); repeat += 1) {
        const number = trials.length;
        const cells = ['march', 'crawl'].flatMap((exercise) =>
          probes.map(([probe, , level, factor]) => ({
            exercise,
            probe,
            percent: level * factor ** index * Math.exp(own + 0.25 * normal()) - 0.001,
            limitPercent: detectionLimitPercent,
            flagged: number === 7,
          })),
        );
        trials.push({
          trial: `t-${String(number).padStart(12, '0')}`,
          subject: `S${String(subject).padStart(2, '0')}`,
          ensemble,
          virtual: false,
          createdAt: '2026-11-20T09:00:00.000Z',
          sealed: true,
          voided: null,
          requirementPercent: null,
          method: 'fixed settling, version 3',
          review: null,
          doubtfulChecks: [],
          cells,
          ...made.unlike?.[number],
        });
      }
    }
  }
  const labels = probes.map(([probe, label]) => ({ probe, label }));
  const summary = summariseStudy(trials, { ...usualQuestions, limitsPercent: made.limits });
  const methods = [
    { method: 'fixed settling, version 3', trials: trials.length },
    { method: 'adaptive settling, version 2', trials: Math.ceil(trials.length / 2) },
  ];
  const view = { file: made.file, name: made.name, probes: labels, methods, summary };
  trialsOf.set(view.file, trials);
  return view;
}

const trialsOf = new Map<string, readonly StudyTrial[]>();

/** The same study without some of its trials, as the host answers it. */
export function madeUpWhatIf({ file, without, method }: WhatIfAsked): StudyView {
  const view = madeUpStudies().find((one) => one.file === file);
  if (view === undefined) throw new Error(`no study ${file}`);
  const trials = (trialsOf.get(file) ?? []).map((trial) => ({ ...trial, method: method ?? trial.method }));
  return { ...view, summary: summariseStudy(trials, view.summary.questions, new Set(without)) };
}

let made: StudyView[] | null = null;

/** Studies of every kind, made up from a seed; by the file that a window asks for. */
export function madeUpStudies(): readonly StudyView[] {
  return (made ??= [
    madeUpStudy({
      file: 'coveralls.chamberside',
      name: 'Grain terminal coveralls',
      subjects: 6,
      ensembles: ['A', 'B'],
      limits: [0.5],
      unlike: { 11: { sealed: false, cells: null, method: null } },
    }),
    madeUpStudy({
      file: 'four.chamberside',
      name: 'Four closures of one coverall, each with and without tape over the zip',
      subjects: 8,
      ensembles: ['Elastic cuffs, no tape', 'Elastic cuffs, taped', 'Knitted cuffs', 'Welded gloves'],
      limits: [0.5, 2],
      unlike: Object.fromEntries([0, 1, 2, 3].map((number) => [number, { virtual: true }])),
    }),
    madeUpStudy({
      file: 'thousand.chamberside',
      name: 'Thousand trials',
      subjects: 250,
      ensembles: ['A', 'B'],
      repeats: 2,
      limits: [0.5],
    }),
    madeUpStudy({
      file: 'one.chamberside',
      name: 'First trial',
      subjects: 1,
      ensembles: ['A'],
      limits: [],
      unlike: { 0: { virtual: true } },
    }),
    madeUpStudy({
      file: 'nothing.chamberside',
      name: 'Nothing assessed yet',
      subjects: 2,
      ensembles: ['A'],
      limits: [],
      unlike: { 0: { cells: null, method: null }, 1: { cells: null, method: null, sealed: false } },
    }),
  ]);
}
