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
import { freshness } from './trial-view.ts';

const second = 1_000_000;
const rank = { high: 0, medium: 1, low: 2 } as const;
/** More lines than this cannot be read from where the operator stands. */
const mostLines = 4;

/** A stream with the limits that the rig sets for it, those to act on first. */
export interface WatchedStream {
  readonly stream: number;
  readonly limits: readonly WatchedLimit[];
}

/** Alarms that stand now, by name. */
function standingAlarms({ alarms }: Snapshot): string[] {
  return alarms.filter(({ lastedSeconds }) => lastedSeconds === null).map(({ alarm }) => alarm);
}

/** Whether a limit of the heart rate stands, be it the trial's, the plan's or the rig's. */
export function heartBeyond(snapshot: Snapshot): boolean {
  const { heartRate, watch = [] } = snapshot.rig.rig ?? { heartRate: null };
  const limits = [...watch, ...(snapshot.trial?.header.watch ?? [])];
  const own = limits.filter(({ instrument, stream }) => instrument === heartRate && stream === 'heart-rate');
  const names = ['heart-rate-high', ...own.map(alarmOfLimit)];
  return standingAlarms(snapshot).some((alarm) => names.includes(alarm));
}

/** Streams that the rig sets limits for, what is beyond first; without the heart rate, which has a place of its own. */
export function watchedStreams(snapshot: Snapshot): WatchedStream[] {
  const { rig } = snapshot;
  const standing = standingAlarms(snapshot);
  const order = (limit: WatchedLimit): number =>
    (standing.includes(alarmOfLimit(limit)) ? 0 : 10) + rank[limit.priority];
  const watched = [...(rig.rig?.watch ?? [])].sort((one, other) => order(one) - order(other));
  const found = new Map<number, WatchedLimit[]>();
  for (const limit of watched) {
    const of = ({ instrument, stream }: WatchedLimit | Snapshot['rig']['streams'][number]): string =>
      `${instrument}/${stream}`;
    const stream = rig.streams.findIndex((each) => of(each) === of(limit));
    const isHeart = limit.instrument === rig.rig?.heartRate && limit.stream === 'heart-rate';
    if (stream < 0 || isHeart) continue;
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
  const standing = standingAlarms(snapshot);
  const isBeyond = limits.some((limit) => standing.includes(alarmOfLimit(limit)));
  const live = snapshot.rig.instruments.some(
    (one) => one.instrument === descriptor?.instrument && one.state === 'live',
  );
  const state = (at: number): string => {
    // What was read before a cable came out is not what is now, however long the stream may be silent.
    if (!live) return 'none';
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
          return value === null ? '–' : `${inSteps(value, descriptor?.resolution ?? 0)} ${symbol}`;
        }}
      />
      <span className="watched-limit">
        {limits.map(({ limit, side }) => trialWords.alarmWhen(side, String(limit))).join(', ')}
      </span>
    </li>
  );
}

/** To the step that is worth showing, and no further: a value beyond its limit never reads like the limit. */
function inSteps(value: number, resolution: number): string {
  return resolution > 0 ? String(Number((Math.round(value / resolution) * resolution).toPrecision(7))) : String(value);
}
