import { describe, expect, it } from 'vitest';
import { watchSafety } from '../../../../src/host/conductor/safety-watch.ts';
import type { StreamDescriptor } from '../../../../src/model/stream.ts';
import type { SafetyEvent } from '../../../../src/safety/limits.ts';
import { createFakeClock } from '../../../support/fake-clock.ts';

const second = 1_000_000;
const concentration: StreamDescriptor = {
  instrument: 'photometer',
  stream: 'concentration',
  unit: 'mg/m3',
  resolution: 0.001,
  plausibleLow: null,
  plausibleHigh: null,
  expectedIntervalSeconds: 0.05,
  silenceLimitSeconds: 1,
};
const limits = { streams: [concentration], heartRate: null, watched: [], contacts: [], contactClearSeconds: 3 };

describe('the safety watch', () => {
  it('notices silence by itself at the first moment it can be known, and leaves no timer behind', async () => {
    const clock = createFakeClock(4 * second);
    const events: SafetyEvent[] = [];
    const watch = watchSafety({ clock, limits, onEvent: (event) => events.push(event), onFailure: () => undefined });
    for (let at = 4; at < 8; at += 0.5) {
      await clock.advanceTo(at * second);
      watch.observeReading({
        instrument: 'photometer',
        stream: 'concentration',
        value: 1,
        atMicroseconds: at * second,
      });
    }
    await clock.advanceTo(20 * second);
    expect(events).toMatchObject([
      { kind: 'alarm-raised', alarm: 'silence-concentration', atMicroseconds: 8.5 * second + 1 },
    ]);
    watch.observeReading({ instrument: 'photometer', stream: 'concentration', value: 1, atMicroseconds: 20 * second });
    expect(events.at(-1)).toMatchObject({ kind: 'alarm-cleared', atMicroseconds: 20 * second });
    expect(watch.acknowledge('silence-concentration', 'photometer', 'p1', 'plugged in again')).toBe(true);
    expect(watch.acknowledge('silence-concentration', 'photometer', 'p1', 'and again')).toBe(false);
    expect(watch.state.alarms).toEqual([]);
    watch.end();
    expect(clock.pending).toBe(0);
    watch.observeProblem({
      instrument: 'photometer',
      atMicroseconds: 21 * second,
      code: 'contact-lost',
      detail: '',
      byteCount: 0,
    });
    expect(events.map((event) => event.kind)).toEqual(['alarm-raised', 'alarm-cleared', 'alarm-acknowledged']);
  });

  it('goes on when the receiver of an alarm fails', async () => {
    const clock = createFakeClock();
    const failures: unknown[] = [];
    const seen: string[] = [];
    const watch = watchSafety({
      clock,
      limits,
      onEvent: (event) => {
        seen.push(event.kind);
        throw new Error('no record');
      },
      onFailure: (error) => failures.push(error),
    });
    await clock.advanceTo(2 * second);
    expect(failures).toMatchObject([{ message: 'no record' }]);
    const reading = { instrument: 'photometer', stream: 'concentration', value: 1, atMicroseconds: 3 * second };
    expect(() => watch.observeReading(reading)).toThrow('no record');
    expect(seen).toEqual(['alarm-raised', 'alarm-cleared']);
    watch.end();
    expect(clock.pending).toBe(0);
  });
});
