import type { AlarmView } from '../../../bridge/snapshot.ts';
import { actionOf, priorityOf } from '../../../safety/alarm-catalogue.ts';
import type { Alarm } from '../../../safety/limits.ts';

const rank = { high: 0, medium: 1, low: 2 } as const;

/**
 * Alarms in the order of the alarm row: what nobody has seen before what was seen, what stands before what has gone,
 * then by priority, then the newest first.
 * @param wallOf wall clock, ISO 8601, of a moment of trial time.
 */
export function alarmViews(alarms: readonly Alarm[], wallOf: (atMicroseconds: number) => string): AlarmView[] {
  const order = (alarm: Alarm): readonly number[] => [
    alarm.acknowledged ? 1 : 0,
    rank[priorityOf(alarm.alarm)],
    alarm.clearedAtMicroseconds === null ? 0 : 1,
    -alarm.raisedAtMicroseconds,
  ];
  return [...alarms]
    .sort((one, other) => {
      const left = order(one);
      const right = order(other);
      const place = left.findIndex((value, index) => value !== right[index]);
      return place < 0 ? 0 : (left[place] as number) - (right[place] as number);
    })
    .map((alarm) => ({
      alarm: alarm.alarm,
      instrument: alarm.instrument,
      priority: priorityOf(alarm.alarm),
      detail: alarm.detail,
      action: actionOf(alarm.alarm),
      raisedAt: wallOf(alarm.raisedAtMicroseconds),
      lastedSeconds:
        alarm.clearedAtMicroseconds === null
          ? null
          : Math.max(0, alarm.clearedAtMicroseconds - alarm.raisedAtMicroseconds) / 1_000_000,
      acknowledged: alarm.acknowledged,
    }));
}
