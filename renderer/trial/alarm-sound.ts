import { useEffect } from 'react';
import type { AlarmPriority, AlarmView } from '../../src/bridge/snapshot.ts';
import { sound, type Melody } from '../ui/sound.ts';

/** Threes and twos, twice: the pattern of an alarm to act on at once. */
const highStarts = [0, 0.25, 0.5, 1, 1.25, 2.6, 2.85, 3.1, 3.6, 3.85] as const;

/**
 * What is heard for a priority. Pitches lie between 150 and 1000 Hz, so that hearing loss and ear muffs leave them;
 * a rising line for an alarm and a level one for a caution are told apart without counting.
 */
export const melodies: Readonly<Record<AlarmPriority, Melody>> = {
  high: {
    tones: highStarts.map((start, index) => ({ pitchHertz: index % 5 < 3 ? 520 + 90 * (index % 5) : 780, start })),
    toneSeconds: 0.17,
    againSeconds: 10,
  },
  medium: {
    tones: [0, 0.4, 0.8].map((start) => ({ pitchHertz: 440, start })),
    toneSeconds: 0.25,
    againSeconds: 30,
  },
  low: { tones: [{ pitchHertz: 330, start: 0 }], toneSeconds: 0.3, againSeconds: null },
};

/** The alarm that is heard: of the highest priority among those that nobody has acknowledged, gone or not. */
export function heardPriority(alarms: readonly AlarmView[]): AlarmPriority | null {
  const open = new Set(alarms.filter(({ acknowledged }) => !acknowledged).map(({ priority }) => priority));
  return (['high', 'medium', 'low'] as const).find((priority) => open.has(priority)) ?? null;
}

/** Newest raising of that priority: another alarm of the same priority is heard from its beginning. */
function newest(alarms: readonly AlarmView[], priority: AlarmPriority | null): string {
  return alarms
    .filter((alarm) => !alarm.acknowledged && alarm.priority === priority)
    .reduce((last, { raisedAt }) => (raisedAt > last ? raisedAt : last), '');
}

/** Makes alarms heard on every screen until they are acknowledged. */
export function useAlarmSound(alarms: readonly AlarmView[]): void {
  const priority = heardPriority(alarms);
  const since = newest(alarms, priority);
  useEffect(() => {
    if (priority === null) return;
    return sound(melodies[priority]);
  }, [priority, since]);
}
