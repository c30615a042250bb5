import type { AlarmView, Snapshot } from '../../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../../src/bridge/trial-snapshot.ts';
import type { SupportingCertificate } from '../../../src/model/certificate.ts';
import type { Rig } from '../../../src/model/rig.ts';
import type { BeforeAnswer, BeforeItem } from '../../../src/model/trial-event.ts';
import { afterLines } from '../../../src/trial/after.ts';
import type { AfterAnswers } from '../../../src/trial/after.ts';
import { beforeLines } from '../../../src/trial/before.ts';
import type { BeforeAnswers } from '../../../src/trial/before.ts';
import { firstDay, workday } from './made-up.ts';
import { madeUpTrial, trialDay } from './made-up-trial.ts';
import { placeScenes } from './place-scenes.ts';
import { watchedScenes } from './watched-scenes.ts';

const second = 1_000_000;
/** In the middle of the fourth probe of the fifth exercise. */
export const middle = 818 * second;

/** One condition of one screen: what the host says, and where the window stands. */
export interface Scene {
  readonly name: string;
  readonly address: string;
  readonly snapshot: Snapshot;
  /** Time of the sample channel when the scene begins, µs; null while no rig is open. */
  readonly at: number | null;
  /** Samples stop at this time: an instrument is silent. */
  readonly silentFrom?: number;
  /** Added to the made-up heart rate in the last half minute before the scene, and after. */
  readonly exertion?: number;
}

const challengeFalling: AlarmView = {
  alarm: 'challenge-unsteady',
  title: null,
  instrument: null,
  priority: 'medium',
  detail: '11.2 mg/m³, 6.4 % down in 4 min; warns at 5 %.',
  action: 'Look at the generator supply.',
  raisedAt: '2026-11-25T10:22:50.000Z',
  lastedSeconds: null,
  acknowledged: false,
};
const heartRate: AlarmView = {
  ...challengeFalling,
  alarm: 'heart-rate-high',
  instrument: 'belt',
  priority: 'high',
  detail: '154 /min, 4 above the limit of 150 for 6 s.',
  action: 'Ask the subject to slow down, or stop.',
};
const photometerLost: AlarmView = {
  ...challengeFalling,
  alarm: 'silence-concentration',
  instrument: 'photometer',
  detail: 'No reading for 13 s; warns at 2 s.',
  action: 'Look at its cable.',
};

const subjectStop: AlarmView = {
  ...challengeFalling,
  alarm: 'subject-stop',
  instrument: 'contacts',
  priority: 'high',
  detail: 'The subject pressed the hand stop.',
  action: 'Look at the subject; have them keep moving gently or sit down. Open the ensemble if they are unwell.',
};
const stopLost: AlarmView = {
  ...subjectStop,
  alarm: 'stop-contact-lost',
  detail: 'No reading of stop for more than 1 s.',
  action: 'The subject cannot stop by contact: watch them by eye, hold the exercise, look at plug and cable.',
};

/** Kept from a moment ago: its cause lasts, or has gone. */
const beltSilent: AlarmView = {
  ...challengeFalling,
  alarm: 'contact-lost',
  instrument: 'belt',
  priority: 'low',
  detail: 'No contact for 21 s.',
  action: 'Look at the belt at the next rest.',
  lastedSeconds: 41,
};

const run = madeUpTrial(middle);
/** In the rest before the fifth exercise, and in its lead-in. */
const plainRest = madeUpTrial(770 * second, { next: { kind: 'exercise', exercise: run.now.exercise, seconds: 110 } });
/** Lengthened twice, and two of those before it once each. */
const rest: TrialSnapshot = {
  ...plainRest,
  now: {
    ...plainRest.now,
    lengthenedMicroseconds: 60 * second,
    untilMicroseconds: (plainRest.now.untilMicroseconds ?? 0) + 60 * second,
  },
  exercises: plainRest.exercises.map((one, index) => ({
    ...one,
    restLengthenedSeconds: [0, 30, 30, 0, 60][index] ?? 0,
  })),
  allowed: ['hold', 'mark', 'repeat', 'skip', 'extend-rest', 'stop'],
};
const leadIn = madeUpTrial(794 * second);
/** As it looks when every value has its interval. */
const withIntervals = {
  ...run,
  lanes: run.lanes.map((lane, index) => ({
    ...lane,
    windowLowPercent: (lane.windowPercent ?? 0) * (0.86 - 0.03 * index),
    windowHighPercent: (lane.windowPercent ?? 0) * (1.1 + 0.04 * index),
    flags: index === 2 ? ['unsettled'] : [],
  })),
};
const prepared: Partial<TrialSnapshot> = {
  phase: 'prepared',
  dwells: [],
  now: {
    ...{ ...run.now, kind: 'prepared', exercise: null, untilMicroseconds: null },
    ...{ port: null, probe: null, air: 'none' },
  },
  allowed: ['start', 'mark', 'stop', 'close'],
  challenge: null,
  filteredAir: null,
};
const answer: Omit<BeforeAnswer, 'atMicroseconds'> = { answer: 'confirmed', persons: ['KL'], note: '' };
const someAnswers: BeforeAnswers = new Map<BeforeItem, BeforeAnswer>([
  ['clearance', { ...answer, atMicroseconds: 41 * second }],
  ['consent', { ...answer, atMicroseconds: 52 * second }],
  [
    'second-person',
    {
      ...{ answer: 'passed-over', persons: ['KL'], atMicroseconds: 130 * second },
      note: 'Second person is on the way down; the subject stays outside the chamber until then.',
    },
  ],
]);
const allAnswers: BeforeAnswers = new Map<BeforeItem, BeforeAnswer>([
  ...someAnswers,
  ['well', { ...answer, atMicroseconds: 61 * second }],
  ['ensemble', { ...answer, persons: ['KL', 'AM'], atMicroseconds: 114 * second }],
  ['breathing-air', { ...answer, atMicroseconds: 150 * second }],
  [
    'subject-stop',
    { ...answer, persons: ['subject'], note: 'Pressed: hand stop', atMicroseconds: 171 * second },
  ],
]);

const diluter = { kind: 'diluter', maker: 'Workshop', model: 'D10', serial: '0007' } as const;
const doubtfulCertificates: readonly SupportingCertificate[] = [
  {
    ...diluter,
    ...{ instrument: 'DIL-1', at: { place: 'port', name: 'chest' }, standing: 'expired' },
    certificate: {
      ...{ number: 'C-2024-0117', issuer: 'Workshop', quantity: 'dilution', unit: '1', value: 9.87 },
      ...{ expandedUncertainty: 0.2, coverageFactor: 2, issuedOn: '2024-10-14', validUntil: '2025-10-13' },
      ...{ record: 3, standardUncertainty: 0.1, degreesOfFreedom: null },
    },
  },
  { ...diluter, instrument: 'DIL-2', at: { place: 'port', name: 'hood' }, standing: 'missing', certificate: null },
];

const lost = madeUpTrial(middle, { now: { ...run.now, air: 'no-reading' } });
const someAfter: AfterAnswers = new Map([
  [
    'ensemble',
    {
      ...{ answer: 'noted', persons: ['KL'], note: 'left sleeve torn at the elbow, about 2 cm' },
      ...{ measured: '', atMicroseconds: middle },
    },
  ],
]);
const measuredAfter = {
  recovery: { verdict: 'good', text: 'Heart rate 97 /min (limit 110 /min one minute after the effort): back' },
  drift: {
    verdict: 'doubt',
    text:
      'Challenge 11.9 → 10.4 mg/m³, −13 % (limit 10 %); zero 0.00021 → 0.00024 mg/m³, +0.00025 % of the challenge ' +
      '(limit 0.2 %): doubt',
  },
} as const;
const stopped = madeUpTrial(middle, {
  phase: 'stopped',
  now: { ...run.now, kind: 'stopped', untilMicroseconds: null, air: 'none' },
  allowed: ['mark', 'close'],
});
const lostRig = trialDay(lost).rig;

/** Lines as a laboratory has them: unequal bores, one that is not stated, and a transit that cannot be right. */
function withOddLines(day: Snapshot): Snapshot {
  const { rig } = day.rig;
  if (rig === null) throw new Error('no rig is open on this day');
  const ports = rig.ports.map((port): Rig['ports'][number] => {
    if (port.probe === 'chest') return { ...port, lineMetres: undefined, boreMillimetres: undefined };
    if (port.probe === 'ankle') return { ...port, transitSeconds: { value: 0.4, standardUncertainty: 0.05 } };
    return port.probe === 'chamber' ? { ...port, boreMillimetres: 6 } : port;
  });
  return { ...day, rig: { ...day.rig, rig: { ...rig, ports } } };
}

/** A trial of the past on a day on which no rig is open. */
function replayed(trial: typeof run, change: Partial<NonNullable<Snapshot['replay']>>): Snapshot {
  const { rig } = trialDay(trial);
  return {
    ...workday,
    rig: firstDay.rig,
    replay: {
      file: trial.file,
      trial: trial.trial,
      playing: false,
      speed: 1,
      atMicroseconds: middle,
      endsAtMicroseconds: 1580 * second,
      view: { ...trial, allowed: [] },
      rig,
      alarms: [],
      ...change,
    },
  };
}

export const scenes: readonly Scene[] = [
  { name: 'start-first', address: '/', snapshot: firstDay, at: null },
  { name: 'start', address: '/', snapshot: workday, at: 100 * second },
  { name: 'person-first', address: '/person', snapshot: firstDay, at: null },
  { name: 'person', address: '/person', snapshot: workday, at: 100 * second },
  { name: 'rig-none', address: '/rig', snapshot: firstDay, at: null },
  { name: 'rig', address: '/rig', snapshot: workday, at: middle },
  { name: 'rig-lines', address: '/rig', snapshot: withOddLines(workday), at: middle },
  { name: 'plan', address: '/plan', snapshot: workday, at: middle },
  {
    name: 'result',
    address: '/result/grain-terminal-coveralls.chamberside/t-000000000031',
    snapshot: workday,
    at: middle,
  },
  ...placeScenes,
  ...watchedScenes,
  { name: 'trial-none', address: '/trial', snapshot: workday, at: middle },
  { name: 'console', address: '/trial', snapshot: trialDay(run), at: middle },
  { name: 'console-rest', address: '/trial', snapshot: trialDay(rest), at: 770 * second },
  { name: 'console-lead-in', address: '/trial', snapshot: trialDay(leadIn), at: 794 * second },
  {
    name: 'console-caution',
    address: '/trial',
    snapshot: trialDay(withIntervals, { alarms: [challengeFalling] }),
    at: middle,
  },
  {
    name: 'console-alarms',
    address: '/trial',
    snapshot: trialDay(run, {
      alarms: [{ ...heartRate, acknowledged: true }, challengeFalling, beltSilent],
    }),
    at: middle,
    exertion: 24,
  },
  {
    name: 'console-alarm',
    address: '/trial',
    snapshot: trialDay(lost, {
      alarms: [photometerLost, heartRate],
      rig: {
        ...lostRig,
        instruments: lostRig.instruments.map((one) =>
          one.instrument === 'photometer' ? { ...one, state: 'lost', detail: 'The port went away.' } : one,
        ),
      },
    }),
    at: middle,
    silentFrom: middle - 13 * second,
    exertion: 24,
  },
  {
    name: 'console-held',
    address: '/trial',
    snapshot: trialDay(
      madeUpTrial(middle, {
        phase: 'held',
        heldBecause: 'operator',
        now: {
          ...run.now,
          kind: 'held',
          sinceMicroseconds: middle - 72 * second,
          untilMicroseconds: null,
          air: 'none',
        },
        allowed: ['go-on', 'mark', 'repeat', 'skip', 'stop', 'close', 'valve'],
      }),
    ),
    at: middle,
  },
  {
    name: 'console-before',
    address: '/trial',
    snapshot: trialDay(
      madeUpTrial(0, {
        ...prepared,
        header: { ...run.header, virtual: false },
        before: beforeLines(someAnswers, true, doubtfulCertificates),
        allowed: ['mark', 'stop', 'close'],
      }),
    ),
    at: 200 * second,
  },
  {
    name: 'console-prepared',
    address: '/trial',
    snapshot: trialDay(madeUpTrial(0, { ...prepared, before: beforeLines(allAnswers, true) })),
    at: 200 * second,
  },
  {
    name: 'console-stopped',
    address: '/trial',
    snapshot: trialDay(stopped),
    at: middle,
  },
  {
    name: 'console-after',
    address: '/trial',
    snapshot: trialDay({
      ...stopped,
      header: { ...run.header, virtual: false },
      phase: 'closed',
      now: { ...stopped.now, kind: 'closed' },
      after: afterLines(someAfter, measuredAfter),
      afterHolds: true,
      allowed: [],
    }),
    at: middle,
  },
  {
    name: 'console-subject-stop',
    address: '/trial',
    snapshot: trialDay(
      { ...stopped, reason: 'The subject pressed stop: hand stop.', subjectStop: 'pressed' },
      { alarms: [subjectStop] },
    ),
    at: middle,
  },
  {
    name: 'console-stop-lost',
    address: '/trial',
    snapshot: trialDay(
      madeUpTrial(middle, {
        phase: 'held',
        heldBecause: 'operator',
        subjectStop: 'lost',
        now: {
          ...run.now,
          kind: 'held',
          sinceMicroseconds: middle - 12 * second,
          untilMicroseconds: null,
          air: 'none',
        },
        allowed: ['mark', 'stop', 'close', 'valve'],
      }),
      { alarms: [stopLost] },
    ),
    at: middle,
  },
  { name: 'console-stopped-nobody', address: '/trial', snapshot: trialDay(stopped, { person: null }), at: middle },
  {
    name: 'console-ended',
    address: '/trial',
    snapshot: trialDay(
      madeUpTrial(middle, {
        phase: 'closed',
        ending: 'done',
        now: { ...run.now, kind: 'closed', untilMicroseconds: null, air: 'none' },
        allowed: [],
      }),
    ),
    at: middle,
  },
  { name: 'replay-none', address: '/replay', snapshot: workday, at: null },
  { name: 'replay', address: '/replay', snapshot: replayed(run, { playing: true, speed: 4 }), at: middle },
  {
    name: 'replay-alarm',
    address: '/replay',
    snapshot: replayed(lost, { alarms: [photometerLost, heartRate] }),
    at: middle,
    silentFrom: middle - 13 * second,
  },
  { name: 'rig-running', address: '/rig', snapshot: trialDay(run, { alarms: [challengeFalling] }), at: middle },
];

export function sceneCalled(name: string): Scene {
  const scene = scenes.find((one) => one.name === name);
  if (scene === undefined) throw new Error(`there is no scene ${name}`);
  return scene;
}
