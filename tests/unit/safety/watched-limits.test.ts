import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rigEntrySchema } from '../../../src/model/rig-entry.ts';
import { alarmOfLimit, watchedLimitSchema } from '../../../src/model/watched-limit.ts';
import type { WatchedLimit } from '../../../src/model/watched-limit.ts';
import { sustainedAbove } from '../../../src/physiology/heart-rate.ts';
import { actionOf, priorityOf } from '../../../src/safety/alarm-catalogue.ts';
import { beginSafety, evaluate } from '../../../src/safety/limits.ts';
import type { SafetyEvent, SafetyLimits } from '../../../src/safety/limits.ts';
import { sustainedStrain } from '../../../src/safety/heart-limits.ts';
import { limitsWithoutStream } from '../../../src/safety/watched-limits.ts';
import { demo } from '../../../drivers/virtual-rig/scenarios/demo.ts';

const fanFlow: WatchedLimit = {
  name: 'fan-flow-low',
  title: 'Fan flow low',
  instrument: 'air',
  stream: 'fan-flow',
  unit: 'L/min',
  side: 'below',
  limit: 120,
  holdSeconds: 0,
  clearBy: 5,
  priority: 'high',
  action: 'Stop, open the ensemble.',
  source: 'the responsible person',
};

const watchingNothing: SafetyLimits = {
  ...{ streams: [], heartRate: null, watched: [], contacts: [], contactClearSeconds: 5 },
};

/** Events as `seconds raised|cleared`, of values of one stream in time. */
function told(
  limit: WatchedLimit,
  values: readonly (readonly [number, number])[],
  silenceLimitSeconds: number | null = 1,
): string[] {
  const stream = { instrument: limit.instrument, stream: limit.stream, unit: limit.unit, resolution: 1 };
  const open = { plausibleLow: null, plausibleHigh: null, expectedIntervalSeconds: null };
  const streams = [{ ...stream, ...open, silenceLimitSeconds }];
  const limits: SafetyLimits = { streams, heartRate: null, watched: [limit], contacts: [], contactClearSeconds: 5 };
  let state = beginSafety(0);
  const events: SafetyEvent[] = [];
  for (const [seconds, value] of values) {
    const { instrument, stream } = limit;
    const reading = { instrument, stream, value, atMicroseconds: Math.round(seconds * 1e6) };
    const step = evaluate(state, { input: 'reading', reading }, limits);
    state = step.state;
    events.push(...step.events.filter(({ alarm }) => !alarm.startsWith('silence-')));
  }
  for (const event of events) expect([event.alarm, event.instrument]).toEqual([alarmOfLimit(limit), limit.instrument]);
  return events.map(({ atMicroseconds, kind }) => `${atMicroseconds / 1e6} ${kind.replace('alarm-', '')}`);
}

describe('a watched limit', () => {
  it('is an alarm at the first value beyond it, and over when a value is far enough back', () => {
    const values = [130, 120, 119.9, 110, 121, 124.9, 125, 119].map((value, at) => [at, value] as const);
    expect(told(fanFlow, values)).toEqual(['2 raised', '6 cleared', '7 raised']);
    expect(told({ ...fanFlow, side: 'above' }, values)).toEqual(['0 raised', '3 cleared', '4 raised']);
  });

  it('with a time is one when every value of that time was beyond it, without a silence in between', () => {
    const strain = { ...fanFlow, side: 'above', limit: 140, holdSeconds: 60, clearBy: 5 } as const;
    const run = (rate: (at: number) => number, without: readonly number[] = []): string[] =>
      told(
        strain,
        Array.from({ length: 150 }, (_, at) => [at, rate(at)] as const).filter(([at]) => !without.includes(at)),
      );
    expect(run(() => 141)).toEqual(['60 raised']);
    expect(run(() => 140)).toEqual([]);
    expect(run((at) => (at === 30 ? 140 : 141))).toEqual(['91 raised']);
    // Six seconds are a tenth of the minute; seven are a silence in which nobody knows what happened.
    expect(run(() => 141, [31, 32, 33, 34, 35])).toEqual(['60 raised']);
    expect(run(() => 141, [31, 32, 33, 34, 35, 36])).toEqual(['97 raised']);
  });

  it('with a short time is one of a stream that speaks slowly: its pace is no silence', () => {
    const slow = [0, 1.1, 2.3, 3.2].map((at) => [at, 110] as const);
    expect(told({ ...fanFlow, holdSeconds: 2 }, slow, 3)).toEqual(['2.3 raised']);
    expect(told({ ...fanFlow, holdSeconds: 2 }, slow, null)).toEqual(['2.3 raised']);
    expect(told({ ...fanFlow, holdSeconds: 2 }, [...slow.slice(0, 2), [4.2, 110], [5, 110]], 3)).toEqual([]);
  });

  it('with a time is raised when the record, looked at afterwards, says so', () => {
    const step = fc.record({ gap: fc.integer({ min: 1, max: 8 }), value: fc.integer({ min: 138, max: 143 }) });
    const values = fc.array(step, { minLength: 1, maxLength: 120 });
    fc.assert(
      fc.property(values, fc.integer({ min: 10, max: 60 }), (steps, holdSeconds) => {
        let at = 0;
        const readings = steps.map(({ gap, value }) => [(at += gap), value] as const);
        const seconds = Float64Array.from(readings, ([second]) => second);
        const perMinute = Float64Array.from(readings, ([, value]) => value);
        const expected = sustainedAbove({ seconds, perMinute }, 140, holdSeconds);
        const first = told({ ...fanFlow, side: 'above', limit: 140, holdSeconds }, readings)[0] ?? null;
        expect(first).toBe(expected === null ? null : `${expected} raised`);
      }),
      { numRuns: 500 },
    );
  });

  it('that stood when the program was interrupted is an alarm again at the first value beyond it', () => {
    const strain = { ...fanFlow, side: 'above', limit: 140, holdSeconds: 900 } as const;
    const limits: SafetyLimits = { ...watchingNothing, watched: [strain] };
    const stood = { alarm: alarmOfLimit(strain), instrument: 'air', detail: '', raisedAtMicroseconds: 0 };
    const after = (values: readonly number[], clearedAtMicroseconds: number | null): string[] => {
      let state = beginSafety(0, [{ ...stood, clearedAtMicroseconds, acknowledged: true }]);
      const forget = { alarm: stood.alarm, instrument: 'air', standing: false, detail: 'watched anew' } as const;
      state = evaluate(state, { input: 'condition', atMicroseconds: 1, ...forget }, limits).state;
      return values.flatMap((value, second) => {
        const reading = { instrument: 'air', stream: 'fan-flow', value, atMicroseconds: (second + 1) * 1e6 };
        const step = evaluate(state, { input: 'reading', reading }, limits);
        state = step.state;
        return step.events.map(({ kind }) => `${second} ${kind}`);
      });
    };
    expect(after([150, 150, 150], null)).toEqual(['0 alarm-raised']);
    // It had come down in between, or had gone before: the time counts from now.
    expect(after([130, 150, 150], null)).toEqual([]);
    expect(after([150, 150, 150], 5)).toEqual([]);
  });

  it('of the plan and one of the rig on the same stream are two alarms, and neither ends the other', () => {
    const strain = sustainedStrain('air', { years: 40, form: 'tanaka', sharePercent: 90, sustainedMinutes: 1 });
    if (strain === null) throw new Error('not watched');
    const ofPlan = { ...strain, stream: 'fan-flow' };
    const ofRig = { ...fanFlow, name: 'sustained-strain', side: 'above', limit: 160 } as const;
    expect(alarmOfLimit(ofPlan)).not.toBe(alarmOfLimit(ofRig));
    const watched = [ofRig, ofPlan];
    const limits: SafetyLimits = { ...watchingNothing, watched };
    let state = beginSafety(0);
    const raised: string[] = [];
    for (let second = 0; second <= 120; second += 1) {
      const reading = { instrument: 'air', stream: 'fan-flow', value: 150, atMicroseconds: second * 1e6 };
      const step = evaluate(state, { input: 'reading', reading }, limits);
      state = step.state;
      raised.push(...step.events.map(({ alarm }) => `${second} ${alarm}`));
    }
    expect(raised).toEqual(['60 limit-plan-sustained-strain']);
  });

  it('says a value that reads otherwise than the limit it is beyond', () => {
    const limits: SafetyLimits = { ...watchingNothing, watched: [fanFlow] };
    const reading = { instrument: 'air', stream: 'fan-flow', value: 119.96, atMicroseconds: 0 };
    const { events } = evaluate(beginSafety(0), { input: 'reading', reading }, limits);
    expect(events).toMatchObject([{ detail: 'fan flow 119.96 L/min, below 120 L/min.' }]);
  });

  it('says what was set for it, and by nothing else', () => {
    const alarm = alarmOfLimit(fanFlow);
    expect([priorityOf(alarm, [fanFlow]), actionOf(alarm, 'exercises', [fanFlow])]).toEqual(['high', fanFlow.action]);
    expect([priorityOf(alarm, []), actionOf(alarm, 'exercises', [])]).toEqual(['medium', expect.any(String)]);
    expect(priorityOf('heart-rate-high', [fanFlow])).toBe('high');
  });

  it('belongs to a stream of the rig, in the unit of that stream', () => {
    const stream = { instrument: 'air', stream: 'fan-flow', unit: 'L/min' } as const;
    expect(limitsWithoutStream([fanFlow], [stream])).toEqual([]);
    expect(limitsWithoutStream([fanFlow], [])[0]?.why).toBe('air gives no fan-flow');
    const [other] = limitsWithoutStream([fanFlow], [{ ...stream, unit: 'L/s' }]);
    expect(other?.why).toMatch(/in L\/s, and the limit in L\/min/);
  });

  it('is refused in a rig without its instrument, twice under one name, and without what to do or a source', () => {
    const belt = { ...fanFlow, instrument: 'belt', stream: 'heart-rate', unit: 'per-minute' } as const;
    const issues = (watch: unknown[]): string[] =>
      rigEntrySchema.safeParse({ ...demo.rig, watch }).error?.issues.map(({ path }) => path.join('.')) ?? [];
    expect(issues([belt])).toEqual([]);
    expect(issues([fanFlow])).toEqual(['watch.0.instrument']);
    expect(issues([belt, belt])).toEqual(['watch']);
    expect(issues([{ ...belt, action: '', source: '' }])).toEqual(['watch.0.action', 'watch.0.source']);
    expect(issues([{ ...belt, limit: Number.NaN }])).toEqual(['watch.0.limit']);
    expect(issues([{ ...belt, name: 'plan-sustained-strain' }])).toEqual(['watch.0.name']);
    expect(issues([])).toEqual(['watch']);
    expect(watchedLimitSchema.parse(belt)).toEqual(belt);
  });
});
