import type { ReactElement } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import { units } from '../../src/model/unit.ts';
import { alarmOfLimit } from '../../src/model/watched-limit.ts';
import type { WatchedLimit } from '../../src/model/watched-limit.ts';
import type { StreamRing } from '../chart/stream-ring.ts';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { trialWords } from '../words/trial.ts';
import { useHostTime } from './host-time-context.ts';
import { Ticking } from './ticking.tsx';
import { freshness, readingText } from './trial-view.ts';

const second = 1_000_000;
const rank = { high: 0, medium: 1, low: 2 } as const;
/** More lines than this cannot be read from where the operator stands. */
const mostLines = 4;

/** A stream with the limits that the rig sets for it, those to act on first. */
export interface WatchedStream {
  readonly stream: number;
  readonly limits: readonly WatchedLimit[];
}

/** Streams that the rig sets limits for, besides the heart rate: it has a place of its own. */
export function watchedStreams({ rig }: Snapshot): WatchedStream[] {
  const watched = [...(rig.rig?.watch ?? [])].sort((one, other) => rank[one.priority] - rank[other.priority]);
  const found = new Map<number, WatchedLimit[]>();
  for (const limit of watched) {
    const of = ({ instrument, stream }: WatchedLimit | Snapshot['rig']['streams'][number]): string =>
      `${instrument}/${stream}`;
    const stream = rig.streams.findIndex((each) => of(each) === of(limit));
    if (stream < 0 || limit.instrument === rig.rig?.heartRate) continue;
    found.set(stream, [...(found.get(stream) ?? []), limit]);
  }
  return [...found].map(([stream, limits]) => ({ stream, limits }));
}

/** The newest value of each, with its limits: a line each. */
export function WatchedValues(props: {
  readonly snapshot: Snapshot;
  readonly streams: readonly WatchedStream[];
  readonly ringOf: (stream: number) => StreamRing;
}): ReactElement {
  const { snapshot, streams } = props;
  const shown = streams.slice(0, mostLines);
  const more = streams.length - shown.length;
  return (
    <section className="watched panel" aria-label={trialWords.watchedValues}>
      <ul>
        {shown.map((one) => (
          <WatchedLine key={one.stream} {...one} snapshot={snapshot} ring={props.ringOf(one.stream)} />
        ))}
      </ul>
      {more > 0 && <p>{trialWords.moreWatched(more)}</p>}
    </section>
  );
}

function WatchedLine(props: WatchedStream & { readonly snapshot: Snapshot; readonly ring: StreamRing }): ReactElement {
  const { limits, ring, snapshot } = props;
  const time = useHostTime();
  const descriptor = snapshot.rig.streams[props.stream];
  const standing = snapshot.alarms.filter(({ lastedSeconds }) => lastedSeconds === null).map(({ alarm }) => alarm);
  const isBeyond = limits.some((limit) => standing.includes(alarmOfLimit(limit)));
  const state = (at: number): string => {
    const newest = ring.newestMicroseconds;
    const age = newest === null ? null : (at - newest - time.onTheWayMicroseconds) / second;
    // A stream that may be silent for as long as it likes is never taken away.
    const silence = descriptor?.silenceLimitSeconds ?? Number.POSITIVE_INFINITY;
    return freshness(age, descriptor?.expectedIntervalSeconds ?? null, silence);
  };
  const symbol = descriptor === undefined ? '' : units[descriptor.unit].symbol;
  return (
    <li className={isBeyond ? 'watched-beyond' : undefined}>
      <span className="watched-name">
        {descriptor?.stream.replaceAll('-', ' ')} {isBeyond && <FlagTriangle />}
      </span>
      <Ticking
        className="watched-value"
        state={state}
        text={(at) => {
          const value = state(at) === 'none' ? null : ring.newestValue;
          return value === null ? '–' : `${readingText(value, descriptor?.resolution)} ${symbol}`;
        }}
      />
      <span className="watched-limit">
        {limits.map(({ limit, side }) => trialWords.alarmWhen(side, String(limit))).join(', ')}
      </span>
    </li>
  );
}
