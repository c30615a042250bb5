// @vitest-environment jsdom
import { act, cleanup, render, screen } from '@testing-library/react';
import { createElement } from 'react';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { HostTime } from '../../../../renderer/app/host-time.ts';
import { createStreamRing } from '../../../../renderer/chart/stream-ring.ts';
import { HostTimeProvider } from '../../../../renderer/trial/host-time-context.ts';
import { heartBeyond, watchedStreams, WatchedValues } from '../../../../renderer/trial/watched-values.tsx';
import type { Snapshot } from '../../../../src/bridge/snapshot.ts';
import { watchedScenes } from '../../../support/screens/watched-scenes.ts';

const second = 1_000_000;
const within = watchedScenes.find(({ name }) => name === 'console-watched')?.snapshot as Snapshot;
const beyond = watchedScenes.find(({ name }) => name === 'console-watched-alarm')?.snapshot as Snapshot;
let ageSeconds = 0;

beforeEach(() => void vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] }));
afterEach(() => {
  cleanup();
  vi.useRealTimers();
});

function shown(snapshot: Snapshot, age: number): string[] {
  ageSeconds = age;
  const ring = createStreamRing(16);
  ring.add(Float64Array.of(10 * second), Float64Array.of(118));
  const time = { at: () => (10 + ageSeconds) * second, onTheWayMicroseconds: 0 } as unknown as HostTime;
  const parts = { snapshot, streams: watchedStreams(snapshot), ringOf: () => ring };
  render(createElement(HostTimeProvider, { value: time, children: createElement(WatchedValues, parts) }));
  act(() => void vi.advanceTimersByTime(200));
  return screen.getAllByRole('listitem').map((line) => `${line.className}|${line.textContent ?? ''}`);
}

describe('watched values', () => {
  it('are those of the streams that the rig sets limits for, to be acted on first before the others', () => {
    const { rig } = within;
    const names = watchedStreams(within).map(({ stream }) => rig.streams[stream]?.stream);
    expect(names).toEqual(['fan-flow', 'carbon-dioxide', 'ensemble-pressure', 'temperature']);
    const watch = [...(rig.rig?.watch ?? [])].reverse();
    const turned = { ...rig, rig: rig.rig === null ? null : { ...rig.rig, watch } };
    const again = watchedStreams({ ...within, rig: turned }).map(({ stream }) => rig.streams[stream]?.stream);
    expect(again).toEqual(['carbon-dioxide', 'fan-flow', 'ensemble-pressure', 'temperature']);
  });

  it('leave the heart rate to its own place, and are none where no limit is set', () => {
    const [first] = within.rig.rig?.watch ?? [];
    if (within.rig.rig === null || first === undefined) throw new Error('no limits');
    const belt = { ...first, instrument: 'belt', stream: 'heart-rate', unit: 'per-minute' } as const;
    const only = (watch: (typeof belt)[]): Snapshot =>
      ({ ...within, rig: { ...within.rig, rig: { ...within.rig.rig, watch } } }) as Snapshot;
    expect(watchedStreams(only([belt]))).toEqual([]);
    expect(watchedStreams({ ...within, rig: { ...within.rig, rig: null } })).toEqual([]);
  });

  it('stand with their unit and their limits, and go when the stream is silent', () => {
    expect(shown(within, 0.1)[0]).toBe('|fan flow 118 L/minalarm below 120');
    cleanup();
    expect(shown(within, 2.5)[0]).toBe('|fan flow –alarm below 120');
  });

  it('go at once when the cable is out, also of a stream that may be silent for as long as it likes', () => {
    const { instruments, streams } = within.rig;
    const patient = streams.map((one) => ({ ...one, silenceLimitSeconds: null, expectedIntervalSeconds: null }));
    const withCable = (state: 'live' | 'lost'): Snapshot => ({
      ...within,
      rig: {
        ...within.rig,
        streams: patient,
        instruments: instruments.map((one) => (one.instrument === 'suit' ? { ...one, state } : one)),
      },
    });
    expect(shown(withCable('live'), 600)[0]).toBe('|fan flow 118 L/minalarm below 120');
    cleanup();
    expect(shown(withCable('lost'), 0.1)[0]).toBe('|fan flow –alarm below 120');
  });

  it('come first where they are beyond their limit, however many there are', () => {
    const last = { ...beyond.alarms[0], alarm: 'limit-temperature' } as Snapshot['alarms'][number];
    const names = watchedStreams({ ...within, alarms: [last] }).map(({ stream }) => within.rig.streams[stream]?.stream);
    expect(names[0]).toBe('temperature');
  });

  it('of the heart stand in its own place, whoever set them; other streams of the belt stand here', () => {
    const { rig } = within.rig;
    const [first] = rig?.watch ?? [];
    const [alarm] = beyond.alarms;
    if (rig === null || first === undefined || alarm === undefined) throw new Error('no limits');
    const low = { ...first, name: 'low', instrument: 'belt', stream: 'heart-rate', unit: 'per-minute' } as const;
    const energy = { ...first, name: 'energy', instrument: 'belt', stream: 'energy' } as const;
    const watching = (change: Partial<Snapshot>): Snapshot => ({
      ...within,
      rig: {
        ...within.rig,
        rig: { ...rig, watch: [low, energy] },
        streams: [...within.rig.streams, { ...within.rig.streams[1], stream: 'energy' }] as Snapshot['rig']['streams'],
      },
      ...change,
    });
    expect(watchedStreams(watching({})).map(({ limits }) => limits[0]?.name)).toEqual(['energy']);
    expect(heartBeyond(watching({}))).toBe(false);
    expect(heartBeyond(watching({ alarms: [{ ...alarm, alarm: 'limit-low' }] }))).toBe(true);
    expect(heartBeyond(watching({ alarms: [{ ...alarm, alarm: 'limit-low', lastedSeconds: 3 }] }))).toBe(false);
    const strain = { ...low, name: 'plan-sustained-strain' };
    const header = within.trial === null ? null : { ...within.trial.header, watch: [strain] };
    const trial = within.trial === null || header === null ? null : { ...within.trial, header };
    const planned = { ...alarm, alarm: 'limit-plan-sustained-strain' };
    expect(heartBeyond(watching({ trial, alarms: [planned] }))).toBe(true);
  });

  it('are marked where their alarm stands', () => {
    const lines = shown(beyond, 0.1);
    expect(lines.map((line) => line.startsWith('watched-beyond|'))).toEqual([true, false, false, false]);
  });
});
