import type { TrialEvent } from '../model/trial-event.ts';
import type { Alarm } from './alarm-work.ts';

/** The alarms that stood, or waited to be seen, where a record ends: as the watch that wrote it had them. */
export function alarmsOfRecord(events: readonly TrialEvent[]): Alarm[] {
  let alarms: readonly Alarm[] = [];
  for (const event of events) {
    if (event.kind !== 'alarm-raised' && event.kind !== 'alarm-cleared' && event.kind !== 'alarm-acknowledged') {
      continue;
    }
    const { alarm, instrument, atMicroseconds } = event;
    const others = alarms.filter((entry) => entry.alarm !== alarm || entry.instrument !== instrument);
    const own = alarms.find((entry) => entry.alarm === alarm && entry.instrument === instrument);
    if (event.kind === 'alarm-raised') {
      const raised = { alarm, instrument, detail: event.detail, raisedAtMicroseconds: atMicroseconds };
      alarms = [...others, { ...raised, clearedAtMicroseconds: null, acknowledged: false }];
    } else if (own !== undefined && event.kind === 'alarm-cleared') {
      alarms = own.acknowledged ? others : [...others, { ...own, clearedAtMicroseconds: atMicroseconds }];
    } else if (own !== undefined) {
      alarms = own.clearedAtMicroseconds === null ? [...others, { ...own, acknowledged: true }] : others;
    }
  }
  return [...alarms];
}
