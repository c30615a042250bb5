import { describe, expect, it } from 'vitest';
import { alarmInRow, alarmsInRow, alarmsShown } from '../../../../renderer/trial/alarm-order.ts';
import type { AlarmView } from '../../../../src/bridge/snapshot.ts';

type Change = Partial<AlarmView>;
function alarm(name: string, priority: AlarmView['priority'], second: number, change: Change = {}): AlarmView {
  const raisedAt = new Date(Date.UTC(2026, 10, 24, 10, 0, second)).toISOString();
  const none = { title: null, instrument: null, detail: '', action: '', lastedSeconds: null, acknowledged: false };
  return { alarm: name, priority, raisedAt, ...none, ...change };
}
const names = (alarms: readonly AlarmView[]): string[] => alarms.map((one) => one.alarm);

describe('the row of alarms', () => {
  const many = [
    alarm('gone', 'high', 0, { lastedSeconds: 3 }),
    alarm('low', 'low', 1),
    alarm('first', 'medium', 2),
    alarm('second', 'medium', 3),
    alarm('high', 'high', 4),
  ];

  it('has the highest first, then the newest, and what has gone last', () => {
    expect(names(alarmsInRow(many))).toEqual(['high', 'second', 'first', 'low', 'gone']);
    expect(names(alarmsShown(many))).toEqual(['high', 'second']);
  });

  it('makes room for what nobody has seen: every alarm can be reached by acknowledging', () => {
    const reached: string[] = [];
    let alarms: readonly AlarmView[] = many;
    for (let press = 0; press < 20; press += 1) {
      const open = [0, 1, 2].map((place) => alarmInRow(alarms, place)).find((one) => one?.acknowledged === false);
      if (open === undefined || open === null) break;
      reached.push(open.alarm);
      alarms = alarms.map((one) => (one.alarm === open.alarm ? { ...one, acknowledged: true } : one));
    }
    expect(reached).toEqual(['high', 'second', 'first', 'low', 'gone']);
  });
});
