import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ProblemCode } from '../../../src/model/reading.ts';
import type { StreamDescriptor } from '../../../src/model/stream.ts';
import { trialEventSchema } from '../../../src/model/trial-event.ts';
import { beginSafety, evaluate, nextSilenceAt, standingAlarms } from '../../../src/safety/limits.ts';
import type { SafetyEvent, SafetyInput, SafetyLimits, SafetyState } from '../../../src/safety/limits.ts';

const second = 1_000_000;

function stream(instrument: string, name: string, silenceLimitSeconds: number | null): StreamDescriptor {
  return {
    instrument,
    stream: name,
    unit: 'one',
    resolution: 1,
    plausibleLow: null,
    plausibleHigh: null,
    expectedIntervalSeconds: 1,
    silenceLimitSeconds,
  };
}

const limits: SafetyLimits = {
  streams: [
    stream('photometer', 'concentration', 1),
    stream('belt', 'heart-rate', 5),
    stream('belt', 'rr-interval', null),
  ],
  heartRate: { instrument: 'belt', stream: 'heart-rate', highest: 170, clearBelow: 5 },
  watched: [],
  contacts: [],
  contactClearSeconds: 3,
};

class Watch {
  state: SafetyState = beginSafety(0);
  readonly events: SafetyEvent[] = [];

  send(input: SafetyInput): SafetyEvent[] {
    const result = evaluate(this.state, input, limits);
    this.state = result.state;
    this.events.push(...result.events);
    return [...result.events];
  }

  time(seconds: number): SafetyEvent[] {
    return this.send({ input: 'time', atMicroseconds: Math.round(seconds * second) });
  }

  reading(instrument: string, name: string, value: number, seconds: number): SafetyEvent[] {
    const atMicroseconds = Math.round(seconds * second);
    return this.send({ input: 'reading', reading: { instrument, stream: name, value, atMicroseconds } });
  }

  acknowledge(alarm: string, instrument: string, seconds: number): SafetyEvent[] {
    const atMicroseconds = Math.round(seconds * second);
    return this.send({ input: 'acknowledge', atMicroseconds, alarm, instrument, person: 'p1', reason: 'seen' });
  }

  condition(alarm: string, standing: boolean, seconds: number): SafetyEvent[] {
    const atMicroseconds = Math.round(seconds * second);
    return this.send({ input: 'condition', atMicroseconds, alarm, standing, detail: standing ? 'late' : 'in time' });
  }

  problem(code: ProblemCode, seconds: number): SafetyEvent[] {
    const atMicroseconds = Math.round(seconds * second);
    return this.send({
      input: 'problem',
      problem: { instrument: 'belt', atMicroseconds, code, detail: 'no skin', byteCount: 2 },
    });
  }
}

const said = (events: readonly SafetyEvent[]): string[] => events.map((event) => `${event.kind} ${event.alarm}`);

describe('silence', () => {
  it('is a fault after the limit, not at it, raised and cleared once', () => {
    const watch = new Watch();
    watch.reading('belt', 'heart-rate', 90, 0.5);
    watch.reading('photometer', 'concentration', 1, 0.5);
    expect(watch.time(1.5)).toEqual([]);
    expect(said(watch.time(1.500001))).toEqual(['alarm-raised silence-concentration']);
    expect(watch.time(3)).toEqual([]);
    expect(said(watch.reading('photometer', 'concentration', 1, 3.2))).toEqual(['alarm-cleared silence-concentration']);
    expect(watch.reading('photometer', 'concentration', 1, 3.3)).toEqual([]);
    for (const event of watch.events) expect(trialEventSchema.safeParse(event).success).toBe(true);
  });

  it('counts from the beginning for a stream that never speaks', () => {
    const watch = new Watch();
    expect(said(watch.time(6))).toEqual(['alarm-raised silence-concentration', 'alarm-raised silence-heart-rate']);
  });

  it('is raised and cleared by the reading that ends it when nobody looked in between', () => {
    const watch = new Watch();
    expect(said(watch.reading('photometer', 'concentration', 1, 4))).toEqual([
      'alarm-raised silence-concentration',
      'alarm-cleared silence-concentration',
    ]);
  });

  it('is not ended by a value that is no number', () => {
    const watch = new Watch();
    watch.time(2);
    expect(watch.reading('photometer', 'concentration', Number.NaN, 2.5)).toEqual([]);
    expect(standingAlarms(watch.state)).toHaveLength(1);
  });

  it('says when to look next, and no longer once raised', () => {
    const watch = new Watch();
    expect(nextSilenceAt(watch.state, limits)).toBe(1 * second + 1);
    watch.reading('photometer', 'concentration', 1, 0.8);
    expect(nextSilenceAt(watch.state, limits)).toBe(1.8 * second + 1);
    watch.time(2);
    expect(nextSilenceAt(watch.state, limits)).toBe(5 * second + 1);
    watch.time(6);
    expect(nextSilenceAt(watch.state, limits)).toBeNull();
  });

  it('keeps the name of an alarm short enough for any stream', () => {
    const long = 'a'.repeat(31) + '-b'.repeat(4);
    const one = { ...limits, streams: [stream('photometer', long, 1)] };
    const { events } = evaluate(beginSafety(0), { input: 'time', atMicroseconds: 2 * second }, one);
    expect(events).toHaveLength(1);
    for (const event of events) expect(trialEventSchema.safeParse(event).success).toBe(true);
  });
});

describe('heart rate', () => {
  it('is raised above the limit and clears only well below it', () => {
    const watch = new Watch();
    const beat = (value: number, seconds: number): string[] =>
      said(watch.reading('belt', 'heart-rate', value, seconds)).filter((text) => text.includes('heart-rate-high'));
    expect(beat(170, 1)).toEqual([]);
    expect(beat(171, 2)).toEqual(['alarm-raised heart-rate-high']);
    expect(beat(180, 3)).toEqual([]);
    expect(beat(166, 4)).toEqual([]);
    expect(beat(165, 5)).toEqual(['alarm-cleared heart-rate-high']);
    expect(beat(Number.POSITIVE_INFINITY, 6)).toEqual([]);
  });

  it('stands while the belt is silent: silence is no recovery', () => {
    const watch = new Watch();
    watch.reading('belt', 'heart-rate', 185, 1);
    watch.time(30);
    expect(standingAlarms(watch.state).map((alarm) => alarm.alarm)).toContain('heart-rate-high');
  });

  it('is not watched where no belt is', () => {
    const reading = { instrument: 'belt', stream: 'heart-rate', value: 250, atMicroseconds: 1 };
    expect(evaluate(beginSafety(0), { input: 'reading', reading }, { ...limits, heartRate: null }).events).toEqual([]);
  });
});

describe('contact', () => {
  it('is lost once however often it is reported, and found after three good seconds', () => {
    const watch = new Watch();
    expect(said(watch.problem('contact-lost', 0.5))).toEqual(['alarm-raised contact-lost']);
    expect(watch.problem('contact-lost', 0.9)).toEqual([]);
    expect(said(watch.reading('belt', 'heart-rate', 80, 0.9))).toEqual([]);
    expect(said(watch.reading('belt', 'heart-rate', 80, 3.89))).not.toContain('alarm-cleared contact-lost');
    expect(said(watch.reading('belt', 'heart-rate', 80, 3.9))).toEqual(['alarm-cleared contact-lost']);
    expect(said(watch.problem('contact-lost', 4))).toEqual(['alarm-raised contact-lost']);
  });

  it('is not concerned by other problems', () => {
    expect(new Watch().problem('checksum-wrong', 0.5)).toEqual([]);
  });
});

describe('latching', () => {
  it('keeps a cleared alarm before people until someone has seen it', () => {
    const watch = new Watch();
    watch.problem('contact-lost', 0.1);
    watch.reading('belt', 'heart-rate', 80, 3.5);
    const kept = watch.state.alarms.find((alarm) => alarm.alarm === 'contact-lost');
    expect(kept).toMatchObject({
      raisedAtMicroseconds: 0.1 * second,
      clearedAtMicroseconds: 3.5 * second,
      acknowledged: false,
    });
    expect(watch.acknowledge('contact-lost', 'belt', 4)).toEqual([
      {
        kind: 'alarm-acknowledged',
        atMicroseconds: 4 * second,
        alarm: 'contact-lost',
        instrument: 'belt',
        person: 'p1',
        reason: 'seen',
      },
    ]);
    expect(watch.state.alarms.some((alarm) => alarm.alarm === 'contact-lost')).toBe(false);
  });

  it('does not clear a cause by acknowledging it', () => {
    const watch = new Watch();
    watch.time(2);
    watch.acknowledge('silence-concentration', 'photometer', 2);
    // Seen twice, or never raised: nothing to record.
    expect(watch.acknowledge('silence-concentration', 'photometer', 2)).toEqual([]);
    expect(watch.acknowledge('contact-lost', 'belt', 2)).toEqual([]);
    expect(standingAlarms(watch.state)).toMatchObject([{ alarm: 'silence-concentration', acknowledged: true }]);
    expect(said(watch.reading('photometer', 'concentration', 1, 3))).toEqual(['alarm-cleared silence-concentration']);
    expect(watch.state.alarms).toEqual([]);
  });
});

describe('a cause in the program itself', () => {
  it('is raised once, cleared once, and stays before people until someone has seen it', () => {
    const watch = new Watch();
    expect(watch.condition('commit-late', true, 0.5)).toEqual([
      { kind: 'alarm-raised', atMicroseconds: 0.5 * second, alarm: 'commit-late', instrument: null, detail: 'late' },
    ]);
    expect(watch.condition('commit-late', true, 0.6)).toEqual([]);
    expect(said(watch.condition('commit-late', false, 0.7))).toEqual(['alarm-cleared commit-late']);
    expect(watch.condition('commit-late', false, 0.8)).toEqual([]);
    expect(watch.state.alarms).toMatchObject([{ alarm: 'commit-late', acknowledged: false }]);
  });
});

describe('whatever comes', () => {
  it('raises and clears in turn, in order of time', () => {
    const input: fc.Arbitrary<(watch: Watch, at: number) => unknown> = fc.oneof(
      fc.constant((watch: Watch, at: number) => watch.time(at)),
      fc
        .double({ min: -50, max: 260 })
        .map((value) => (watch: Watch, at: number) => watch.reading('belt', 'heart-rate', value, at)),
      fc.constant((watch: Watch, at: number) => watch.reading('photometer', 'concentration', 1, at)),
      fc.constant((watch: Watch, at: number) => watch.problem('contact-lost', at)),
      fc.constant((watch: Watch, at: number) => watch.acknowledge('contact-lost', 'belt', at)),
      fc.boolean().map((standing) => (watch: Watch, at: number) => watch.condition('commit-late', standing, at)),
    );
    fc.assert(
      fc.property(
        fc.array(fc.tuple(input, fc.double({ min: -1, max: 4, noNaN: true })), { maxLength: 80 }),
        (steps) => {
          const watch = new Watch();
          let at = 1;
          for (const [act, by] of steps) {
            at = Math.max(0, at + by);
            act(watch, at);
          }
          const standing = new Set<string>();
          let last = 0;
          for (const event of watch.events) {
            const key = `${event.alarm} ${event.instrument ?? ''}`;
            if (event.kind === 'alarm-raised') {
              expect(standing.has(key)).toBe(false);
              standing.add(key);
            } else if (event.kind === 'alarm-cleared') {
              expect(standing.delete(key)).toBe(true);
            }
            expect(event.atMicroseconds).toBeGreaterThanOrEqual(last);
            last = event.atMicroseconds;
          }
          expect(standingAlarms(watch.state)).toHaveLength(standing.size);
        },
      ),
      { numRuns: 300, seed: 3 },
    );
  });
});

describe('the selector valve', () => {
  const port = (watch: Watch, confirmed: boolean, seconds: number): SafetyEvent[] =>
    watch.send({
      input: 'port',
      atMicroseconds: Math.round(seconds * second),
      instrument: 'valve',
      confirmed,
      detail: confirmed ? '' : 'the valve says port 3',
    });

  it('raises one alarm for a port that is not confirmed, cleared by the next that is, and latched for people', () => {
    const watch = new Watch();
    expect(port(watch, true, 0.1)).toEqual([]);
    expect(port(watch, false, 0.2)).toEqual([
      {
        kind: 'alarm-raised',
        atMicroseconds: 200_000,
        alarm: 'valve-unconfirmed',
        instrument: 'valve',
        detail: 'the valve says port 3',
      },
    ]);
    expect(port(watch, false, 0.3)).toEqual([]);
    expect(standingAlarms(watch.state)).toHaveLength(1);
    expect(said(port(watch, true, 0.4))).toEqual(['alarm-cleared valve-unconfirmed']);
    expect(standingAlarms(watch.state)).toEqual([]);
    expect(watch.state.alarms).toEqual([
      expect.objectContaining({ alarm: 'valve-unconfirmed', clearedAtMicroseconds: 400_000, acknowledged: false }),
    ]);
    for (const event of watch.events) expect(trialEventSchema.safeParse(event).success).toBe(true);
  });
});
