import type { AssessmentRow, SignatureRow } from '../../../src/bridge/review.ts';
import type { AssessmentDifference, ValueDifference } from '../../../src/leakage/difference.ts';
import type { LeftOut, LeftOutOfTrial } from '../../../src/leakage/left-out.ts';
import { result } from './made-up.ts';

const assessment = result.assessment;
if (assessment === null) throw new Error('the made-up trial is assessed');

const stretch: LeftOut = {
  fromMicroseconds: 561_500_000,
  toMicroseconds: 566_000_000,
  time: 'arrival',
  probe: null,
  reason: 'somebody opened the door of the chamber, mark 3',
};
export const madeUpLeftOut: LeftOutOfTrial = { ...stretch, dwells: [27], readings: 45 };
export const madeUpReview = { person: 'RV', reason: stretch.reason, leftOut: [stretch] };

/** The planned assessment, one by a reviewer, and another with another method besides. */
export const madeUpAssessments: readonly AssessmentRow[] = [1, 2, 3].map((position) => ({
  assessment: `a-00000000000${position}`,
  position,
  createdAt: `2026-11-2${3 + position}T14:53:00.000Z`,
  program: '0.1.0',
  methodName: position === 3 ? 'adaptive' : 'first',
  methodVersion: 1,
  review: position === 1 ? null : madeUpReview,
  leftOut: position === 1 ? [] : [madeUpLeftOut],
  overallPercent: 0.42 + position / 100,
  cells: assessment.cells.length,
  cellsFlagged: 2 + position,
}));

/** The second is released, with a key; the third signed as assessed by the only reviewer that there is. */
export const madeUpSignatures: readonly SignatureRow[] = (
  [
    [2, 'assessed', 'AM', 'as planned, stretch left out'],
    [2, 'reviewed', 'RT', 'trace, flags and the stretch looked at'],
    [2, 'released', 'RT', 'for the customer, order 118'],
    [3, 'assessed', 'RT', 'the other method, to see what it changes'],
  ] as const
).map(([position, step, person, reason], index) => ({
  ...{ number: index + 1, assessment: `a-00000000000${position}`, step, person, reason, rehearsal: false },
  createdAt: `2026-11-26T1${5 + index}:04:00.000Z`,
  fingerprint: step === 'released' ? '5e1f0c'.padEnd(64, '83a7') : null,
}));

const value = (before: number, after: number, flagsGained: string[] = []): ValueDifference => ({
  beforePercent: before,
  afterPercent: after,
  changePercent: (100 * (after - before)) / before,
  ofStatedUncertainty: Math.abs(after - before) / (0.1 * before),
  beforeLowPercent: 0.9 * before,
  beforeHighPercent: 1.1 * before,
  afterLowPercent: 0.88 * after,
  afterHighPercent: 1.12 * after,
  beforeExerciseLowPercent: 0.7 * before,
  beforeExerciseHighPercent: 1.4 * before,
  afterExerciseLowPercent: 0.7 * after,
  afterExerciseHighPercent: 1.4 * after,
  flagsGained,
  flagsLost: [],
  same: before === after,
  sameExercise: before === after,
});

export const madeUpDifference: AssessmentDifference = {
  trial: result.trial,
  before: { assessment: 'a-000000000002', position: 2, createdAt: '', program: '0.1.0', review: madeUpReview },
  after: { assessment: 'a-000000000003', position: 3, createdAt: '', program: '0.1.0', review: madeUpReview },
  method: [
    { field: 'name', before: 'first', after: 'adaptive' },
    { field: 'settling.rule', before: 'fixed', after: 'adaptive' },
    { field: 'settling.windowSeconds', before: null, after: 2 },
  ],
  timeConstantSeconds: { before: null, after: 1.02 },
  leftOut: { before: [], after: [madeUpLeftOut], gained: [madeUpLeftOut], lost: [] },
  cells: assessment.cells.map(({ exercise, probe }, index) => ({
    exercise,
    probe,
    beforeReadings: 120,
    afterReadings: index < 3 ? 75 : 120,
    ...value(0.4 + index / 50, index < 3 ? 0.38 + index / 40 : 0.4 + index / 50, index < 3 ? ['left-out'] : []),
  })),
  probes: assessment.probes.map(({ probe }, index) => ({ probe, ...value(0.5, index === 0 ? 0.48 : 0.5) })),
  exercises: [],
  overall: value(0.44, 0.43, ['left-out']),
  cellsChanged: 3,
  exerciseIntervalsChanged: 3,
};
