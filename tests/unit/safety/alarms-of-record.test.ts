import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { alarmsOfRecord } from '../../../src/safety/alarms-of-record.ts';
import { beginSafety, evaluate, type SafetyEvent, type SafetyInput } from '../../../src/safety/limits.ts';

const limits = { streams: [], heartRate: null, watched: [], contacts: [], contactClearSeconds: 5 };
const alarms = fc.constantFrom('valve-unconfirmed', 'time-lost', 'window-lost');
const instruments = fc.constantFrom(null, 'valve');
const condition = fc.record({ alarm: alarms, instrument: instruments, standing: fc.boolean() });
const acknowledge = fc.record({ alarm: alarms, instrument: instruments });

describe('the alarms of a record', () => {
  it('are those of the watch that wrote it, whatever happened', () => {
    let left = 0;
    fc.assert(
      fc.property(fc.array(fc.oneof(condition, acknowledge), { maxLength: 30 }), (steps) => {
        let state = beginSafety(0);
        const record: SafetyEvent[] = [];
        for (const [index, step] of steps.entries()) {
          const at = { atMicroseconds: index * 1_000 };
          const input: SafetyInput =
            'standing' in step
              ? { input: 'condition', detail: 'as it is', ...at, ...step }
              : { input: 'acknowledge', person: 'anna', reason: '', ...at, ...step };
          const after = evaluate(state, input, limits);
          state = after.state;
          record.push(...after.events);
        }
        const byName = (one: { alarm: string; instrument: string | null }): string => `${one.alarm} ${one.instrument}`;
        const sorted = <T extends { alarm: string; instrument: string | null }>(list: readonly T[]): T[] =>
          [...list].sort((a, b) => byName(a).localeCompare(byName(b)));
        expect(sorted(alarmsOfRecord(record))).toEqual(sorted(state.alarms));
        left += state.alarms.length;
      }),
      { seed: 7 },
    );
    expect(left).toBeGreaterThan(50);
  });
});
