import { alarmOfLimit } from '../model/watched-limit.ts';
import type { WatchedLimit } from '../model/watched-limit.ts';

/** By what the person must do: act now, look soon, know at the next rest. */
export type AlarmPriority = 'high' | 'medium' | 'low';

/** Before any exercise has begun; from then on; when none follows any more. */
export type TrialMoment = 'before-exercises' | 'exercises' | 'after-exercises';

interface AlarmEntry {
  readonly priority: AlarmPriority;
  /** What to do now. */
  readonly action: string;
  /** The same where there is no exercise to hold or repeat, or no rest to wait for. */
  readonly otherwise?: Partial<Record<TrialMoment, string>>;
}

/** Every alarm that a trial can raise besides the silence of a stream. The person comes before the instrument. */
const catalogue = {
  'subject-stop': {
    priority: 'high',
    action: 'Look at the subject; have them keep moving gently or sit down. Open the ensemble if they are unwell.',
    otherwise: {
      'before-exercises': 'Look at the subject. Acknowledge it when the stop was only being tried.',
    },
  },
  'stop-contact-lost': {
    priority: 'high',
    action: 'The subject cannot stop by contact: watch them by eye, hold the exercise, look at plug and cable.',
    otherwise: {
      'before-exercises': 'The subject cannot stop by contact: look at plug and cable before anybody goes in.',
      'after-exercises': 'The subject cannot stop by contact: watch them by eye.',
    },
  },
  'door-open': {
    priority: 'medium',
    action: 'Close the door. Repeat the exercise if the challenge has fallen.',
    otherwise: { 'after-exercises': 'Close the door until the closing readings are taken.' },
  },
  'heart-rate-high': {
    priority: 'high',
    action: 'Hold the exercise, look at the subject.',
    otherwise: {
      'before-exercises': 'Look at the subject. Hold the trial before the first exercise begins.',
      'after-exercises': 'Look at the subject. Open the ensemble if they are unwell.',
    },
  },
  'contact-lost': {
    priority: 'medium',
    action: 'Watch the subject by eye; have the belt pressed to the chest in the next rest.',
    otherwise: {
      'before-exercises': 'Watch the subject by eye; have the belt pressed to the chest before the first exercise.',
      'after-exercises': 'Watch the subject by eye.',
    },
  },
  'connection-lost': {
    priority: 'medium',
    action: 'Put the cable back, or choose the new port. The trial goes on without it.',
  },
  'valve-unconfirmed': {
    priority: 'medium',
    action: 'Look where the valve stands. Repeat the exercise if its air was not measured.',
    otherwise: {
      'before-exercises': 'Look where the valve stands. Hold the trial: what is read now counts for nothing.',
      'after-exercises': 'Look where the valve stands. The closing readings may be missing from the result.',
    },
  },
  'rig-ended': {
    priority: 'medium',
    action: 'Stop and close the trial, or end the program, start it again and take the trial up on a new rig.',
  },
  'guard-lost': {
    priority: 'high',
    action: 'Have the subject rest, and the load at zero. The guard is started anew; go on when this has cleared.',
  },
  'guard-parked': {
    priority: 'high',
    action: 'Look at the load, and at the subject. Set it to zero by hand where it was not acknowledged, then go on.',
  },
  'commit-late': { priority: 'medium', action: 'Look at the disk. Nothing is lost while the program runs.' },
  'disk-refused': {
    priority: 'medium',
    action: 'Do what it says. What waits is kept in memory while the program runs.',
  },
  'challenge-unsteady': {
    priority: 'medium',
    action: 'Look at the generator. Go on only when you accept it as it is.',
  },
  'challenge-changed': { priority: 'medium', action: 'Look at the generator and the door.' },
  'live-values-lost': {
    priority: 'medium',
    action: 'Live leakage is incomplete; do not go by it. All is recorded: the result is computed from the record.',
  },
  'window-lost': { priority: 'medium', action: 'Look at the subject. Go on when they are in place and fit.' },
  'time-lost': { priority: 'medium', action: 'Look at the subject. Go on when they are in place and fit.' },
  'trial-failed': {
    priority: 'high',
    action: 'Stop the subject by voice or sign. Start the program again, then resume.',
  },
} as const satisfies Record<string, AlarmEntry>;

export type HostAlarm = keyof typeof catalogue;
export const hostAlarms = Object.keys(catalogue) as readonly HostAlarm[];

const heartRateSilence: AlarmEntry = {
  priority: 'medium',
  action: 'Watch the subject by eye; look at the belt in the next rest.',
  otherwise: {
    'before-exercises': 'Watch the subject by eye; look at the belt before the first exercise.',
    'after-exercises': 'Watch the subject by eye; look at the belt and its receiver.',
  },
};
const otherwise: AlarmEntry = { priority: 'medium', action: 'Look at the instrument and its cable.' };

function entryOf(alarm: string): AlarmEntry {
  if (Object.hasOwn(catalogue, alarm)) return catalogue[alarm as HostAlarm];
  return alarm === 'silence-heart-rate' ? heartRateSilence : otherwise;
}

/** @param watched limits that the rig and the plan set: their alarms are theirs to describe. */
export function priorityOf(alarm: string, watched: readonly WatchedLimit[] = []): AlarmPriority {
  return limitOfAlarm(alarm, watched)?.priority ?? entryOf(alarm).priority;
}

/** The limit whose alarm it is. */
export function limitOfAlarm(alarm: string, watched: readonly WatchedLimit[]): WatchedLimit | undefined {
  return watched.find((limit) => alarmOfLimit(limit) === alarm);
}

export function actionOf(alarm: string, moment: TrialMoment, watched: readonly WatchedLimit[] = []): string {
  const limit = limitOfAlarm(alarm, watched);
  if (limit !== undefined) return limit.action;
  const { action, otherwise: others } = entryOf(alarm);
  return others?.[moment] ?? action;
}
