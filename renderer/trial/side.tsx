import type { ReactElement, ReactNode } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { heartTrend, heartTrendSeconds } from '../../src/physiology/heart-trend.ts';
import { units } from '../../src/model/unit.ts';
import { Signal } from '../chart/signal.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import type { StreamRing } from '../chart/stream-ring.ts';
import { limitNumber, percentNumber } from '../words/numbers.ts';
import { trialWords } from '../words/trial.ts';
import { useHostTime } from './host-time-context.ts';
import { Ticking } from './ticking.tsx';
import type { Freshness } from './trial-view.ts';
import { heartBeyond, watchedStreams, WatchedValues } from './watched-values.tsx';
import { ageText, freshness, heartRateStream, photometerStale, photometerStream, readingText } from './trial-view.ts';

const trendSeconds = 300;
const second = 1_000_000;

/** The person first: heart rate against its limit. Then what the result rests on. */
export function Side(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly ringOf: (stream: number) => StreamRing;
}): ReactElement {
  const { snapshot, trial } = props;
  const belt = heartRateStream(snapshot);
  const photometer = photometerStream(snapshot);
  const descriptor = photometer === null ? undefined : snapshot.rig.streams[photometer];
  const challengeAlarm = snapshot.alarms.some(
    ({ alarm, lastedSeconds }) => alarm.startsWith('challenge') && lastedSeconds === null,
  );
  const { challenge } = trial;
  const stale = photometerStale(snapshot);
  const watched = watchedStreams(snapshot);
  const highest = trial.lanes.reduce<number | null>(
    (most, { windowPercent, belowDetectionLimit }) =>
      windowPercent === null || belowDetectionLimit ? most : Math.max(most ?? windowPercent, windowPercent),
    null,
  );
  return (
    <aside className="side">
      {belt === null ? (
        <section className="heart panel">
          <div className="label">{trialWords.heartRate}</div>
          <div className="heart-none">{trialWords.noBelt}</div>
        </section>
      ) : (
        <HeartRate snapshot={snapshot} trial={trial} ring={props.ringOf(belt)} stream={belt} />
      )}
      <div className="side-cells">
        <Cell title={trialWords.challenge} warn={challengeAlarm} stale={stale}>
          {challenge === null || descriptor === undefined ? (
            <Nothing />
          ) : (
            <>
              <div className="cell-value">
                {readingText(challenge.meanReading, descriptor.resolution)}
                <small>{units[descriptor.unit].symbol}</small>
              </div>
              <div className="cell-more">
                {challenge.changePercent === null ? '' : `${trialWords.change(challenge.changePercent)} · `}
                <Ticking text={(at) => trialWords.ago(ageText(challenge.measuredToMicroseconds, at))} />
              </div>
            </>
          )}
        </Cell>
        {watched.length === 0 && (
          <Cell title={trialWords.requirement}>
            <div className="cell-value">
              {trial.requirementPercent === null ? '–' : limitNumber(trial.requirementPercent, 4)}
              {trial.requirementPercent !== null && <small>%</small>}
            </div>
            <div className="cell-more">{trial.requirementPercent === null ? trialWords.noRequirement : ''}</div>
          </Cell>
        )}
        <Cell title={trialWords.highestValue} stale={stale}>
          <div className="cell-value">
            {highest === null ? '–' : percentNumber(highest)}
            {highest !== null && <small>%</small>}
          </div>
          <div className="cell-more">
            {highest === null ? trialWords.notMeasured : ''}
            {watched.length > 0 && trial.requirementPercent !== null && (
              <> {trialWords.allowed(limitNumber(trial.requirementPercent, 4))}</>
            )}
          </div>
        </Cell>
        {watched.length === 0 && (
          <Cell title={trialWords.readings}>
            <div className="cell-value">{trial.counts.readings.toLocaleString('en')}</div>
            <div className="cell-more">
              {trialWords.dwells(trial.counts.dwells)} · {trialWords.problems(trial.counts.problems)}
            </div>
          </Cell>
        )}
      </div>
      {watched.length > 0 && <WatchedValues snapshot={snapshot} streams={watched} ringOf={props.ringOf} />}
    </aside>
  );
}

function Cell(props: {
  readonly title: string;
  readonly warn?: boolean;
  readonly stale?: boolean;
  readonly children: ReactNode;
}): ReactElement {
  const { warn = false, stale = false } = props;
  return (
    <section className={`cell${warn ? ' cell-warn' : ''}${stale ? ' cell-stale' : ''}`}>
      <div className="label">
        {props.title} {warn && <FlagTriangle />}
      </div>
      {props.children}
    </section>
  );
}

function Nothing(): ReactElement {
  return (
    <>
      <div className="cell-value">–</div>
      <div className="cell-more">{trialWords.notMeasured}</div>
    </>
  );
}

/** Kept for a ring until something is added: it is asked for ten times a second. */
const trends = new WeakMap<StreamRing, { readonly revision: number; readonly words: string }>();

/** Where the heart rate goes by its last minute, in words; nothing where there is too little to tell it from. */
function trendWords(ring: StreamRing): string {
  const known = trends.get(ring);
  if (known?.revision === ring.revision) return known.words;
  const first = ring.indexFrom((ring.newestMicroseconds ?? 0) - heartTrendSeconds * second);
  const indices = Array.from({ length: ring.length - first }, (_, index) => first + index);
  const trend = heartTrend({
    seconds: indices.map((index) => ring.timeAt(index) / second),
    rates: indices.map((index) => ring.valueAt(index)),
  });
  const { down, steady, up } = trialWords.heartGoes;
  const words =
    trend === null ? '' : trend.going === 'steady' ? steady : trend.going === 'up' ? up(trend.by) : down(trend.by);
  trends.set(ring, { revision: ring.revision, words });
  return words;
}

function HeartRate(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly ring: StreamRing;
  readonly stream: number;
}): ReactElement {
  const { snapshot, trial, ring } = props;
  const time = useHostTime();
  const descriptor = snapshot.rig.streams[props.stream];
  const silence = descriptor?.silenceLimitSeconds ?? 5;
  const limit = trial.heartRateLimit;
  const alarm = heartBeyond(snapshot);
  /** Age of the newest heart rate, s, without what is on its way. */
  const age = (at: number): number | null => {
    const newest = ring.newestMicroseconds;
    return newest === null ? null : (at - newest - time.onTheWayMicroseconds) / second;
  };
  const state = (at: number): Freshness => freshness(age(at), descriptor?.expectedIntervalSeconds ?? null, silence);
  /** The newest heart rate while it is young enough to be one. */
  const rateNow = (at: number): number | null => (state(at) === 'none' ? null : ring.newestValue);
  return (
    <section className={alarm ? 'heart panel heart-alarm' : 'heart panel'} aria-label={trialWords.heartRate}>
      <div className="heart-words">
        <div className="label">{trialWords.heartRate}</div>
        <Ticking
          className="heart-value"
          state={state}
          text={(at) => {
            const rate = rateNow(at);
            return rate === null ? '–' : rate.toFixed(0);
          }}
        />
        <Ticking
          className="heart-more"
          text={(at) => {
            const rate = rateNow(at);
            if (rate === null) return trialWords.noReading;
            if (state(at) === 'old') return trialWords.secondsOld(age(at) ?? 0);
            if (limit === null) return trialWords.noLimit;
            const below = limit - Math.round(rate);
            return below >= 0 ? trialWords.belowLimit(limit, below) : trialWords.aboveLimit(limit, -below);
          }}
        />
      </div>
      <div className="heart-trend">
        <Signal
          ring={ring}
          seconds={trendSeconds}
          now={(at) => time.at(at)}
          onTheWay={() => time.onTheWayMicroseconds}
          silenceSeconds={silence}
          range={[50, Math.max(175, (limit ?? 160) + 30)]}
          limit={limit}
          {...(limit === null ? {} : { limitWord: trialWords.limitAt(limit) })}
          label={trialWords.heartRate}
          onAlarm={alarm}
        />
        <Ticking
          text={(at) => {
            const goes = rateNow(at) === null ? '' : trendWords(ring);
            return `${trialWords.lastMinutes(trendSeconds / 60)}${goes === '' ? '' : ` · ${goes}`}`;
          }}
        />
      </div>
    </section>
  );
}
