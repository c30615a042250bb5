import type { AlarmView } from '../../src/bridge/snapshot.ts';

const ranks = { high: 0, medium: 1, low: 2 } as const;

/** Alarms as they stand from left to right: highest priority first, then the newest; what has gone stands last. */
export function alarmsInRow(alarms: readonly AlarmView[]): AlarmView[] {
  const rank = (alarm: AlarmView): number => ranks[alarm.priority] + (alarm.lastedSeconds === null ? 0 : 10);
  return [...alarms].sort(
    (first, second) => rank(first) - rank(second) || second.raisedAt.localeCompare(first.raisedAt),
  );
}

/** Those that the row has room for: three, or two and a count. Only what is seen can be acknowledged. */
export function alarmsShown(alarms: readonly AlarmView[]): AlarmView[] {
  const row = alarmsInRow(alarms);
  return row.length > 3 ? row.slice(0, 2) : row;
}

/** The alarm at a place from the left, which has the key A, B or C; null where the row shows none. */
export function alarmInRow(alarms: readonly AlarmView[], place: number): AlarmView | null {
  return alarmsShown(alarms)[place] ?? null;
}
