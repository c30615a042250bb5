import type { AlarmView, Snapshot } from '../../../src/bridge/snapshot.ts';
import type { StreamDescriptor } from '../../../src/model/stream.ts';
import type { WatchedLimit } from '../../../src/model/watched-limit.ts';
import { madeUpTrial, trialDay } from './made-up-trial.ts';
import type { Scene } from './scenes.ts';

const at = 819_000_000;

/** What the streams after those of the workday read all the time. */
export const watchedValues = [118, 0.84, 42, 24.6];

const air = (stream: string, unit: StreamDescriptor['unit'], resolution: number): StreamDescriptor => ({
  ...{ instrument: 'suit', stream, unit, resolution, plausibleLow: null, plausibleHigh: null },
  ...{ expectedIntervalSeconds: 0.2, silenceLimitSeconds: 2 },
});
const streams = [
  air('fan-flow', 'L/min', 1),
  air('carbon-dioxide', 'percent', 0.01),
  air('ensemble-pressure', 'Pa', 1),
  air('temperature', 'degC', 0.1),
];

const limit = (stream: string, unit: WatchedLimit['unit'], side: WatchedLimit['side'], of: number): WatchedLimit => ({
  ...{ name: stream, title: stream, instrument: 'suit', stream, unit, side, limit: of, holdSeconds: 5, clearBy: 0 },
  ...{ priority: 'high', action: 'Stop; open the ensemble.', source: 'the responsible person' },
});
const watch = [
  { ...limit('fan-flow', 'L/min', 'below', 120), title: 'Fan flow low' },
  limit('carbon-dioxide', 'percent', 'above', 1),
  { ...limit('ensemble-pressure', 'Pa', 'below', 5), priority: 'medium' as const },
  { ...limit('temperature', 'degC', 'above', 30), priority: 'low' as const },
];

const fanFlowLow: AlarmView = {
  alarm: 'limit-fan-flow',
  title: 'Fan flow low',
  instrument: 'suit',
  priority: 'high',
  detail: 'fan flow 118 L/min, below 120 L/min for 5 s.',
  action: 'Stop; open the ensemble.',
  raisedAt: '2026-11-25T10:22:50.000Z',
  lastedSeconds: null,
  acknowledged: false,
};

const day = trialDay(madeUpTrial(at), { limitsWatched: 17 });
const suitLines = { instrument: 'suit', kind: 'pressure-flow', dialect: 'lines' };
const suit = { ...suitLines, settings: {} };
const { rig } = day.rig;
const watchedDay: Snapshot = {
  ...day,
  rig: {
    ...day.rig,
    instruments: [...day.rig.instruments, ...day.rig.instruments.slice(0, 1).map((one) => ({ ...one, ...suitLines }))],
    rig: rig === null ? null : { ...rig, instruments: [...rig.instruments, suit], watch },
    streams: [...day.rig.streams, ...streams],
  },
};

/** A rig that watches the breathing air: all within, and the fan too slow. */
export const watchedScenes: readonly Scene[] = [
  { name: 'console-watched', address: '/trial', snapshot: watchedDay, at },
  { name: 'console-watched-alarm', address: '/trial', snapshot: { ...watchedDay, alarms: [fanFlowLow] }, at },
];
