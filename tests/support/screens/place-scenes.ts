import type { TrialResult } from '../../../src/bridge/result.ts';
import type { Snapshot } from '../../../src/bridge/snapshot.ts';
import { checkDefinitions } from '../../../src/calibration/check/definitions.ts';
import { figure, verdict } from '../../../src/calibration/check/vocabulary.ts';
import { firstDay, instruments, ownRig, result, workday } from './made-up.ts';
import { madeUpAssessments, madeUpLeftOut, madeUpReview, madeUpSignatures } from './made-up-review.ts';
import type { Scene } from './scenes.ts';

const second = 1_000_000;
const at = 100 * second;
const resultOf = (trial: string): string => `/result/${result.file}/${trial}`;

const spanFailed: Snapshot['rig']['checks']['results'][number] = {
  number: 9,
  version: ownRig.version,
  madeAtMilliseconds: Date.parse('2026-11-25T07:58:00.000Z'),
  result: {
    ...verdict([figure('mean', 9.1, 'mg/m3', { low: 9.6, high: 14.4 }, 0.02)], 'Limit: 20 % of the nominal challenge.'),
    check: 'span',
    subject: null,
    condition: 'as-found',
    at: '2026-11-25T07:58:00.000Z',
    person: 'AM',
    validDays: 1,
  },
};

const virtualDay: Snapshot = {
  ...workday,
  studies: [],
  rig: {
    ...workday.rig,
    rig: { ...ownRig, name: 'Virtual chamber with eight-way selector', version: 1, virtual: true },
    instruments: instruments.map((one) => ({ ...one, connection: 'serial /dev/pts/4 at 115200', settings: null })),
    checks: { running: null, failure: null, results: [] },
    virtualRig: { scenario: 'short', seed: 7, processId: 4711 },
  },
};

const trouble: Snapshot = {
  ...workday,
  person: null,
  rig: {
    ...workday.rig,
    instruments: instruments.map((one) =>
      one.instrument === 'belt'
        ? { ...one, state: 'lost', detail: 'The port is gone. Plug its adapter in again.', reconnects: 2, problems: 3 }
        : one,
    ),
    valve: { requestedPort: 4, confirmedPort: 3, state: 'unconfirmed', answerMilliseconds: 62 },
    checks: { running: null, failure: null, results: [...workday.rig.checks.results, spanFailed] },
    doubtfulCertificates: [
      {
        ...{ instrument: 'CH-N', kind: 'chamber', maker: 'as on its plate', model: 'room', serial: 'none' },
        ...{ at: { place: 'chamber' }, standing: 'missing', certificate: null },
      },
    ],
  },
};

const opening: Snapshot = {
  ...workday,
  rig: {
    ...workday.rig,
    state: 'opening',
    instruments: instruments.map((one, index) => (index === 0 ? one : { ...one, state: 'connecting' })),
  },
};

const failed: Snapshot = {
  ...workday,
  studies: [],
  rigs: [...workday.rigs, { name: 'Simulated on this machine', version: 1, virtual: true }],
  rig: {
    ...firstDay.rig,
    state: 'failed',
    failure: {
      code: 'port-busy',
      what: 'Another program holds the port.',
      where: 'photometer, /dev/ttyUSB0',
      remedy: 'Close the other program, then open the rig again.',
    },
  },
};

const checking: Snapshot = {
  ...workday,
  rig: {
    ...workday.rig,
    valve: { requestedPort: 6, confirmedPort: 6, state: 'confirmed', answerMilliseconds: 58 },
    checks: {
      running: {
        check: 'linearity',
        subject: null,
        condition: 'routine',
        steps: checkDefinitions.linearity.steps(ownRig, null, { readSeconds: 10 }),
        at: 7,
        stepSeconds: 4.2,
        secondsLeft: 71,
        secondsInAll: 144,
      },
      failure: null,
      results: workday.rig.checks.results,
    },
  },
};

/** As much as a table of cells can have to say: every value in doubt, and every other missing, with why. */
function inDoubt(of: NonNullable<TrialResult['assessment']>): NonNullable<TrialResult['assessment']> {
  const means = { flagged: true, cellsFlagged: 5, cellsMissing: 2 };
  return {
    ...of,
    cells: of.cells.map((cell, index) => ({
      ...cell,
      windowPercent: index % 2 === 0 ? null : cell.windowPercent,
      flagged: true,
      flags: ['gap', 'unbracketed', 'port-unconfirmed', 'incomplete'],
    })),
    probes: of.probes.map((mean) => ({ ...mean, ...means })),
    exercises: of.exercises.map((mean) => ({ ...mean, ...means })),
    overall: { ...of.overall, ...means },
  };
}

/** Trials of the made-up host besides the assessed one: not assessed, not closed, of the virtual rig, in doubt. */
export const otherResults: Readonly<
  Record<'closed' | 'open' | 'virtual' | 'doubts' | 'reviewed' | 'void', TrialResult>
> = {
  reviewed: {
    ...result,
    trial: 't-000000000036',
    assessments: [...madeUpAssessments],
    signatures: [...madeUpSignatures],
    assessment:
      result.assessment === null
        ? null
        : {
            ...{ ...result.assessment, assessment: 'a-000000000002' },
            ...{ review: madeUpReview, leftOut: [madeUpLeftOut] },
          },
  },
  closed: { ...result, trial: 't-000000000032', assessment: null },
  open: { ...result, trial: 't-000000000033', assessment: null, sealed: null },
  virtual: {
    ...result,
    trial: 't-000000000034',
    header: { ...result.header, virtual: true },
    gaps: [],
    rig: { ...ownRig, virtual: true },
  },
  void: {
    ...result,
    trial: 't-000000000037',
    repeat: { because: 'stopped', from: 'side-bends' },
    repeatedBy: ['t-000000000038'],
    voidings: [
      {
        ...{ trial: 't-000000000037', trialHead: '', decision: 'void', person: 'RB', program: '0.1.0' },
        reason: 'the hose of the hood had come off in the second exercise',
        createdAt: '2026-11-26T08:12:00.000Z',
      },
    ],
    after: {
      open: 1,
      answers: [
        {
          ...{ title: 'Ensemble inspected', word: 'Damage noted', found: true, note: 'hose off at the hood' },
          ...{ measured: '', persons: ['KL'], atMicroseconds: 1_212_000_000 },
        },
      ],
    },
  },
  doubts: {
    ...result,
    trial: 't-000000000035',
    assessment: result.assessment === null ? null : inDoubt(result.assessment),
  },
};

/** Conditions of the screens beside the console, over those that every screen has. */
export const placeScenes: readonly Scene[] = [
  { name: 'start-virtual', address: '/', snapshot: virtualDay, at },
  { name: 'start-opening', address: '/', snapshot: { ...opening, studies: [] }, at: null },
  { name: 'rig-virtual', address: '/rig', snapshot: virtualDay, at },
  { name: 'rig-trouble', address: '/rig', snapshot: trouble, at },
  { name: 'rig-check', address: '/rig', snapshot: checking, at },
  { name: 'check-running', address: '/rig/linearity', snapshot: checking, at },
  { name: 'check-found', address: '/rig/response', snapshot: workday, at },
  { name: 'check-line', address: '/rig/linearity', snapshot: workday, at },
  { name: 'check-of-a-line', address: '/rig/dilution/hood', snapshot: workday, at },
  { name: 'check-failed', address: '/rig/span', snapshot: trouble, at },
  { name: 'check-never', address: '/rig/uniformity', snapshot: workday, at },
  { name: 'instruments-altered', address: '/instruments', snapshot: trouble, at },
  { name: 'rig-opening', address: '/rig', snapshot: opening, at: null },
  { name: 'rig-failed', address: '/rig', snapshot: failed, at: null },
  { name: 'instruments-empty', address: '/instruments', snapshot: firstDay, at: null },
  { name: 'series', address: '/series', snapshot: workday, at },
  { name: 'instruments', address: '/instruments', snapshot: workday, at },
  { name: 'plan-trouble', address: '/plan', snapshot: trouble, at },
  { name: 'result-closed', address: resultOf(otherResults.closed.trial), snapshot: workday, at },
  { name: 'result-open', address: resultOf(otherResults.open.trial), snapshot: workday, at },
  { name: 'result-virtual', address: resultOf(otherResults.virtual.trial), snapshot: workday, at },
  { name: 'result-doubts', address: resultOf(otherResults.doubts.trial), snapshot: workday, at },
  { name: 'result-reviewed', address: resultOf(otherResults.reviewed.trial), snapshot: workday, at },
  { name: 'result-void', address: resultOf(otherResults.void.trial), snapshot: workday, at },
  { name: 'result-missing', address: resultOf('t-000000000099'), snapshot: workday, at },
  ...['coveralls', 'four', 'thousand', 'one', 'nothing', 'missing'].map((study) => ({
    name: `study-${study}`,
    address: `/study/${study}.chamberside`,
    snapshot: workday,
    at,
  })),
];
