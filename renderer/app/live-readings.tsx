import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { Signal } from '../chart/signal.tsx';
import type { LiveReadings } from '../rig/rig-actions.ts';
import type { Connection } from './connection.ts';

const second = 1_000_000;
const minuteSeconds = 60;
const rateSeconds = 5;

/** Readings of the open rig as they arrive, for screens that know no connection. */
export function liveReadings(connection: Connection, snapshot: Snapshot): LiveReadings {
  const { samples } = connection;
  const silence = (stream: number): number => snapshot.rig.streams[stream]?.silenceLimitSeconds ?? 5;
  return {
    newest(stream) {
      const ring = samples.ring(stream);
      const now = samples.time.at(performance.now());
      const at = ring.newestMicroseconds;
      return now === null || at === null || now - at > silence(stream) * second ? null : ring.newestValue;
    },
    perSecond(stream) {
      const ring = samples.ring(stream);
      const now = samples.time.at(performance.now());
      if (now === null || ring.length === 0) return null;
      return (ring.length - ring.indexFrom(now - rateSeconds * second)) / rateSeconds;
    },
    signal: (stream, label) => (
      <Signal
        ring={samples.ring(stream)}
        seconds={minuteSeconds}
        now={(at) => samples.time.at(at)}
        silenceSeconds={silence(stream)}
        range={null}
        limit={null}
        label={label}
      />
    ),
  };
}
