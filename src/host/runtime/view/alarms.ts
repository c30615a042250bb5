import type { AlarmView } from '../../../bridge/snapshot.ts';
import { actionOf, limitOfAlarm, priorityOf, type TrialMoment } from '../../../safety/alarm-catalogue.ts';
import type { WatchedLimit } from '../../../model/watched-limit.ts';
import type { Alarm } from '../../../safety/limits.ts';
import type { Schedule } from '../../../series/schedule.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';

const rank = { high: 0, medium: 1, low: 2 } as const;

/** Whether there is an exercise to hold or repeat, of which an alarm may speak. */
export function momentOf(machine: TrialMachine, schedule: Schedule): TrialMoment {
  const step = schedule.steps[machine.cursor.step];
  const over = machine.phase === 'stopped' || machine.phase === 'closed';
  if (over || step === undefined || step.stage === 'closing') return 'after-exercises';
  return machine.attempts.some((attempts) => attempts > 0) ? 'exercises' : 'before-exercises';
}

/**
 * Alarms in the order of the alarm row: what nobody has seen before what was seen, what stands before what has gone,
 * then by priority, then the newest first.
 * @param moment what there is to be done depends on it.
 * @param watched limits of the rig and the plan.
 * @param wallOf wall clock, ISO 8601, of a moment of trial time.
 */
export function alarmViews(
  alarms: readonly Alarm[],
  moment: TrialMoment,
  watched: readonly WatchedLimit[],
  wallOf: (atMicroseconds: number) => string,
): AlarmView[] {
  const order = (alarm: Alarm): readonly number[] => [
    alarm.acknowledged ? 1 : 0,
    rank[priorityOf(alarm.alarm, watched)],
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
      title: limitOfAlarm(alarm.alarm, watched)?.title ?? null,
      instrument: alarm.instrument,
      priority: priorityOf(alarm.alarm, watched),
      detail: alarm.detail,
      action: actionOf(alarm.alarm, moment, watched),
      raisedAt: wallOf(alarm.raisedAtMicroseconds),
      lastedSeconds:
        alarm.clearedAtMicroseconds === null
          ? null
          : Math.max(0, alarm.clearedAtMicroseconds - alarm.raisedAtMicroseconds) / 1_000_000,
      acknowledged: alarm.acknowledged,
    }));
}
