import type { AlarmView } from '../../src/bridge/snapshot.ts';

const ranks = { high: 0, medium: 1, low: 2 } as const;

/** Alarms as they stand from left to right: highest priority first, then the newest; what has gone stands last. */
export function alarmsInRow(alarms: readonly AlarmView[]): AlarmView[] {
  const rank = (alarm: AlarmView): number => ranks[alarm.priority] + (alarm.lastedSeconds === null ? 0 : 10);
  return [...alarms].sort(
    (first, second) => rank(first) - rank(second) || second.raisedAt.localeCompare(first.raisedAt),
  );
}

/** The alarm at a place from the left, which has the key A, B, C or D. */
export function alarmInRow(alarms: readonly AlarmView[], place: number): AlarmView | null {
  return alarmsInRow(alarms)[place] ?? null;
}
