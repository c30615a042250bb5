import type { AlarmPriority, AlarmView } from '../../src/bridge/snapshot.ts';

const headlines: Readonly<Record<string, string>> = {
  'heart-rate-high': 'Heart rate high',
  'subject-stop': 'Subject pressed stop',
  'stop-contact-lost': 'Stop contact lost',
  'door-open': 'Door open',
  'contact-lost': 'Belt contact lost',
  'valve-unconfirmed': 'Valve unconfirmed',
  'commit-late': 'Not on disk',
  'disk-refused': 'Disk refuses',
  'challenge-unsteady': 'Challenge unsteady',
  'challenge-changed': 'Challenge changed',
  'live-values-lost': 'Live values lost',
  'window-lost': 'No window',
  'rig-ended': 'Virtual rig has ended',
  'guard-lost': 'Load not guarded',
  'guard-parked': 'Guard took the load',
  'time-lost': 'Program stood still',
  'trial-failed': 'Recording failed',
};

const priorities: Readonly<Record<AlarmPriority, string>> = { high: 'Alarm', medium: 'Caution', low: 'Notice' };

/** Words of the alarm row. */
export const alarmWords = {
  /** By the code of the alarm, where nothing else names it; silence of a stream is `silence-…`. */
  headline: ({ alarm, instrument, title }: Pick<AlarmView, 'alarm' | 'instrument' | 'title'>): string => {
    const known = title ?? headlines[alarm];
    if (known !== undefined) return known;
    if (alarm.startsWith('silence-')) return `${capital(instrument ?? alarm.slice(8))} silent`;
    if (alarm === 'connection-lost') return `${capital(instrument ?? 'instrument')} not connected`;
    return capital(alarm.replaceAll('-', ' '));
  },
  priority: (priority: AlarmPriority) => priorities[priority],
  acknowledge: 'Acknowledge',
  acknowledged: 'acknowledged',
  was: (text: string) => `was, for ${text}`,
  watched: (count: number) => (count === 1 ? '1 limit watched' : `${count} limits watched`),
  othersWatched: (count: number) => (count === 1 ? '1 other limit watched' : `${count} other limits watched`),
  none: 'none exceeded',
  more: (count: number) => `and ${count} more`,
  reasonTitle: (headline: string) => `${headline}: why?`,
  reasons: [
    'Seen, dealing with it',
    'Subject asked and well',
    'Known and accepted',
    'Cable or contact, being mended',
    'False: instrument, not person',
    'Other',
  ],
} as const;

function capital(text: string): string {
  return `${text.slice(0, 1).toUpperCase()}${text.slice(1).replaceAll('-', ' ')}`;
}
