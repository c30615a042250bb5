import type { AlarmView } from '../../src/bridge/snapshot.ts';

const ranks = { high: 0, medium: 1, low: 2 } as const;

/** Alarms as they stand from left to right: highest priority first, then the newest; what has gone stands last. */
export function alarmsInRow(alarms: readonly AlarmView[]): AlarmView[] {
  const rank = (alarm: AlarmView): number => ranks[alarm.priority] + (alarm.lastedSeconds === null ? 0 : 10);
  return [...alarms].sort(
    (first, second) => rank(first) - rank(second) || second.raisedAt.localeCompare(first.raisedAt),
  );
}

/**
 * Those that the row has room for: three, or two and a count. Only what is seen can be acknowledged, so what nobody has
 * acknowledged takes the room of what somebody has.
 */
export function alarmsShown(alarms: readonly AlarmView[]): AlarmView[] {
  const row = alarmsInRow(alarms);
  if (row.length <= 3) return row;
  const chosen = [...row.filter((one) => !one.acknowledged), ...row.filter((one) => one.acknowledged)].slice(0, 2);
  return row.filter((one) => chosen.includes(one));
}

/** The alarm at a place from the left, which has the key A, B or C; null where the row shows none. */
export function alarmInRow(alarms: readonly AlarmView[], place: number): AlarmView | null {
  return alarmsShown(alarms)[place] ?? null;
}
