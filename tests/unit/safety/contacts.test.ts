import { describe, expect, it } from 'vitest';
import type { StreamDescriptor } from '../../../src/model/stream.ts';
import { actionOf, priorityOf } from '../../../src/safety/alarm-catalogue.ts';
import { contactsOf, isPressedStop, stopState } from '../../../src/safety/contacts.ts';
import { beginSafety, evaluate, nextSilenceAt } from '../../../src/safety/limits.ts';
import type { SafetyEvent, SafetyInput, SafetyLimits, SafetyState } from '../../../src/safety/limits.ts';

const second = 1_000_000;

const stream = (instrument: string, name: string, silenceLimitSeconds = 1): StreamDescriptor => ({
  instrument,
  stream: name,
  unit: 'one',
  resolution: 1,
  plausibleLow: 0,
  plausibleHigh: 1,
  expectedIntervalSeconds: 0.2,
  silenceLimitSeconds,
});
const instrument = (name: string, kind: string) => ({ instrument: name, kind, dialect: 'lines', settings: {} });

const streams = [
  stream('photometer', 'concentration'),
  stream('hand', 'stop'),
  stream('floor', 'foot-stop'),
  stream('floor', 'door', 5),
  // Not a contact, whatever its streams are called.
  stream('belt', 'stop'),
];
const rig = {
  instruments: [
    instrument('photometer', 'photometer'),
    instrument('hand', 'contact'),
    instrument('floor', 'contact'),
    instrument('belt', 'heart-rate'),
  ],
};
const contacts = contactsOf(rig, streams);
const limits: SafetyLimits = { streams: [...streams], heartRate: null, watched: [], contacts, contactClearSeconds: 5 };

class Watch {
  state: SafetyState = beginSafety(0);

  send(input: SafetyInput): string[] {
    const { state, events } = evaluate(this.state, input, limits);
    this.state = state;
    return events.map((event: SafetyEvent) => `${event.kind} ${event.alarm} ${event.instrument ?? ''}`);
  }

  reading(name: string, streamName: string, value: number, seconds: number): string[] {
    const atMicroseconds = seconds * second;
    return this.send({ input: 'reading', reading: { instrument: name, stream: streamName, value, atMicroseconds } });
  }

  /** Everything else goes on speaking. */
  others(seconds: number): void {
    for (const { instrument: name, stream: of } of streams) {
      if (name !== 'hand' && name !== 'floor') this.reading(name, of, 0, seconds);
    }
  }

  get stop(): string {
    return stopState(this.state, contacts);
  }
}

describe('contacts of a rig', () => {
  it('are the known streams of instruments of that kind', () => {
    expect(contacts).toEqual([
      { instrument: 'hand', stream: 'stop', part: 'stop' },
      { instrument: 'floor', stream: 'foot-stop', part: 'stop' },
      { instrument: 'floor', stream: 'door', part: 'door' },
    ]);
  });

  it('count as pressed by anything but rest, and by nothing that is no number', () => {
    const pressed = (value: number, name = 'hand', of = 'stop'): boolean =>
      isPressedStop({ instrument: name, stream: of, value, atMicroseconds: 0 }, contacts);
    expect([pressed(0), pressed(1), pressed(0.5), pressed(-1), pressed(Number.NaN)]).toEqual([
      false,
      true,
      true,
      true,
      false,
    ]);
    expect(pressed(1, 'floor', 'door')).toBe(false);
    expect(pressed(1, 'belt', 'stop')).toBe(false);
  });
});

describe('a subject’s stop', () => {
  it('is an alarm when it is pressed, once, and over when it is let go', () => {
    const watch = new Watch();
    watch.reading('hand', 'stop', 0, 0.1);
    expect(watch.reading('hand', 'stop', 1, 0.3)).toEqual(['alarm-raised subject-stop hand']);
    expect(watch.reading('hand', 'stop', 1, 0.5)).toEqual([]);
    expect(watch.reading('hand', 'stop', 0, 0.7)).toEqual(['alarm-cleared subject-stop hand']);
    expect(watch.reading('hand', 'stop', 0, 0.8)).toEqual([]);
    expect(priorityOf('subject-stop')).toBe('high');
    expect(actionOf('subject-stop', 'exercises')).toMatch(/keep moving gently or sit down/);
    // It waits to be seen.
    expect(watch.state.alarms).toMatchObject([{ alarm: 'subject-stop', acknowledged: false }]);
  });

  it('is no alarm of a door, nor of another instrument', () => {
    const watch = new Watch();
    expect(watch.reading('floor', 'door', 1, 0.1)).toEqual([]);
    expect(watch.reading('belt', 'stop', 1, 0.1)).toEqual([]);
  });

  it('that falls silent is an alarm of its own when its limit is reached, and no other', () => {
    const watch = new Watch();
    watch.reading('hand', 'stop', 0, 0.2);
    watch.reading('floor', 'foot-stop', 0, 0.9);
    watch.others(0.9);
    expect(nextSilenceAt(watch.state, limits)).toBe(1.2 * second + 1);
    expect(watch.send({ input: 'time', atMicroseconds: 1.2 * second + 1 })).toEqual([
      'alarm-raised stop-contact-lost hand',
    ]);
    expect(priorityOf('stop-contact-lost')).toBe('high');
    expect(watch.reading('hand', 'stop', 0, 1.4)).toEqual(['alarm-cleared stop-contact-lost hand']);
  });

  it('that was never heard is an alarm too', () => {
    const watch = new Watch();
    watch.others(0.9);
    expect(watch.send({ input: 'time', atMicroseconds: 1.1 * second })).toEqual([
      'alarm-raised stop-contact-lost hand',
      'alarm-raised stop-contact-lost floor',
    ]);
  });

  it('whose connection breaks is lost at once', () => {
    const watch = new Watch();
    watch.reading('hand', 'stop', 0, 0.2);
    const problem = { code: 'connection-lost', detail: 'pulled out', byteCount: 0 } as const;
    const lose = (name: string): string[] =>
      watch.send({ input: 'problem', problem: { ...problem, instrument: name, atMicroseconds: 0.3 * second } });
    expect(lose('photometer')).toEqual([]);
    expect(lose('hand')).toEqual(['alarm-raised stop-contact-lost hand']);
    expect(watch.state.alarms[0]?.detail).toContain('pulled out');
    // The silence that follows is the same loss.
    watch.reading('floor', 'foot-stop', 0, 1.2);
    watch.others(1.2);
    expect(watch.send({ input: 'time', atMicroseconds: 1.3 * second })).toEqual([]);
  });

  it('is armed when every stop is heard and at rest', () => {
    const watch = new Watch();
    expect(watch.stop).toBe('unheard');
    watch.reading('hand', 'stop', 0, 0.1);
    expect(watch.stop).toBe('unheard');
    watch.reading('floor', 'foot-stop', 0, 0.1);
    expect(watch.stop).toBe('armed');
    watch.reading('floor', 'foot-stop', 1, 0.2);
    expect(watch.stop).toBe('pressed');
    watch.reading('floor', 'foot-stop', 0, 0.3);
    expect(watch.stop).toBe('armed');
    watch.send({ input: 'time', atMicroseconds: 1.2 * second });
    expect(watch.stop).toBe('lost');
    watch.reading('hand', 'stop', 0, 1.25);
    expect(watch.stop).toBe('armed');
    expect(stopState(watch.state, [])).toBe('none');
  });

  it('of two on one instrument keeps the alarm until both are let go', () => {
    const both = contactsOf({ instruments: [instrument('box', 'contact')] }, [
      stream('box', 'stop'),
      stream('box', 'foot-stop'),
    ]);
    const own: SafetyLimits = { streams: [], heartRate: null, watched: [], contacts: both, contactClearSeconds: 5 };
    let state = beginSafety(0);
    const seen: string[] = [];
    const read = (name: string, value: number, atMicroseconds: number): void => {
      const result = evaluate(
        state,
        { input: 'reading', reading: { instrument: 'box', stream: name, value, atMicroseconds } },
        own,
      );
      state = result.state;
      seen.push(...result.events.map(({ kind }) => `${kind} ${name} ${value}`));
    };
    for (const [at, [name, value]] of (
      [
        ['stop', 1],
        ['foot-stop', 1],
        ['stop', 0],
        ['foot-stop', 0],
      ] as const
    ).entries()) {
      read(name, value, at);
    }
    expect(seen).toEqual(['alarm-raised stop 1', 'alarm-cleared foot-stop 0']);
  });
});
