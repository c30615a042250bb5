import { useMemo, type ReactElement } from 'react';
import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { LaneView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { probePorts, solePort, type Port, type Rig } from '../../src/model/rig.ts';
import { units } from '../../src/model/unit.ts';
import { drawLanes, drawScale } from '../chart/lane-chart.ts';
import { Canvas } from '../chart/canvas.tsx';
import { themeColours } from '../chart/colours.ts';
import { markDrawn } from '../chart/drawn.ts';
import type { StreamRing } from '../chart/stream-ring.ts';
import { Body, bodyPlace } from '../ui/body.tsx';
import { FlagTriangle } from '../ui/flag-triangle.tsx';
import { ProbeGlyph, ProbeMark } from '../ui/probe-mark.tsx';
import { useSize } from '../ui/use-size.ts';
import { flagName } from '../words/result.ts';
import { trialWords } from '../words/trial.ts';
import { useHostTime } from './host-time-context.ts';
import { laneChart } from './lane-chart-of.ts';
import { Ticking } from './ticking.tsx';
import {
  ageText,
  laneInterval,
  laneSeen,
  laneValue,
  photometerStale,
  photometerStream,
  readingText,
} from './trial-view.ts';

/** Share of a probe's lane that a lane of plain readings takes. */
const plainShare = 0.56;
const axisHeight = 24;
/** Room at the right for what the lines stand for. */
const scaleWidth = 56;

/** The body, one lane for each probe in its order, chamber and filtered air below, and their last minutes. */
export function Lanes(props: {
  readonly snapshot: Snapshot;
  readonly trial: TrialSnapshot;
  readonly rig: Rig;
  readonly ring: StreamRing | null;
  readonly oneAxis: boolean;
}): ReactElement {
  const { snapshot, trial, rig } = props;
  const { ref, height } = useSize<HTMLDivElement>();
  const time = useHostTime();
  const probes = probePorts(rig);
  const lane = Math.max(40, (height - axisHeight) / (probes.length + 2 * plainShare));
  const stale = photometerStale(snapshot);
  const stream = photometerStream(snapshot);
  const descriptor = stream === null ? undefined : snapshot.rig.streams[stream];
  const unit = descriptor === undefined ? '' : units[descriptor.unit].symbol;
  const readingSeconds = descriptor?.expectedIntervalSeconds ?? null;
  const chart = useMemo(
    () =>
      laneChart({
        ...{ trial, rig, ring: props.ring, laneHeight: lane, plainShare, oneAxis: props.oneAxis, readingSeconds },
        onTheWay: () => time.onTheWayMicroseconds,
      }),
    [trial, rig, props.ring, lane, props.oneAxis, readingSeconds, time],
  );
  const plain = [
    { port: solePort(rig, 'reference'), reading: trial.challenge },
    { port: solePort(rig, 'filtered-air'), reading: trial.filteredAir },
  ];
  return (
    <section className={stale ? 'lanes panel lanes-stale' : 'lanes panel'} aria-label={trialWords.lanes}>
      <div className="lanes-inner" ref={ref}>
        <BodyFigure trial={trial} probes={probes} lane={lane} height={height - axisHeight} />
        <div className="lane-words">
          {probes.map((port) => (
            <LaneRow
              key={port.port}
              port={port}
              height={lane}
              lane={laneOf(trial, port.probe)}
              lit={isLit(trial, port)}
            />
          ))}
          {plain.map(({ port, reading }) => (
            <div
              key={port.port}
              className={isLit(trial, port) ? 'lane lane-plain lane-lit' : 'lane lane-plain'}
              style={{ height: `${lane * plainShare}px` }}
            >
              <ProbeMark probe={port.probe} size={18} lit={isLit(trial, port)} />
              <span className="lane-name">{port.label}</span>
              <span className="lane-value">
                {reading === null ? (
                  <small>{trialWords.notMeasured}</small>
                ) : (
                  <>
                    <b>{readingText(reading.meanReading, descriptor?.resolution)}</b> <small>{unit}</small>
                  </>
                )}
              </span>
            </div>
          ))}
          <div className="lane-foot">
            {trialWords.provisional} {trial.requirementPercent === null ? '' : trialWords.lineRequirement}{' '}
            {trialWords.dotsLimit}
          </div>
        </div>
        <Canvas
          className="lane-chart"
          label={trialWords.lanes}
          draw={(context, width, chartHeight, at) => {
            const now = time.at(at);
            if (now === null) return;
            const colours = themeColours();
            const bottom = chartHeight - axisHeight;
            const made = chart(now);
            const right = width - scaleWidth;
            markDrawn(drawLanes(context, right, made, colours, bottom));
            drawScale(context, right, made, colours);
            drawTimeAxis(context, right, made, bottom);
          }}
        />
      </div>
    </section>
  );
}

function laneOf(trial: TrialSnapshot, probe: string): LaneView | null {
  return trial.lanes.find((lane) => lane.probe === probe) ?? null;
}

/** The lane that the air comes from: lit only while something is measured. */
function isLit(trial: TrialSnapshot, port: Port): boolean {
  const measuring = ['transit', 'settling', 'usable'].includes(trial.now.air);
  return measuring && trial.now.port === port.port && trial.phase === 'running';
}

function LaneRow(props: {
  readonly port: Port;
  readonly lane: LaneView | null;
  readonly lit: boolean;
  readonly height: number;
}): ReactElement {
  const { port, lane, lit } = props;
  const value = lane === null ? null : laneValue(lane);
  const flag = lane?.flags[0];
  const measuredTo = lane?.measuredToMicroseconds ?? null;
  // Where there is no number the flag says why, in the fewest words.
  const flagWord = flag === undefined ? '' : flagName(flag);
  const seen = lane === null || (lane.state === 'no-result' && flag !== undefined) ? '' : laneSeen(lane);
  const interval = lane === null ? '' : (laneInterval(lane) ?? '');
  const age = lit ? (
    trialWords.measuring
  ) : measuredTo === null ? (
    trialWords.notYet
  ) : (
    <Ticking text={(at) => trialWords.ago(ageText(measuredTo, at))} />
  );
  const inDwell = lane !== null && (lane.state === 'measuring' || lane.state === 'settling');
  const brief = flagWord === '' && !inDwell ? seen : flagWord;
  return (
    <div className={lit ? 'lane lane-lit' : 'lane'} style={{ height: `${props.height}px` }}>
      <ProbeMark probe={port.probe} size={26} lit={lit} />
      <div className="lane-who">
        <div className="lane-name">{port.label}</div>
        <div className="lane-small lane-wide">
          {trialWords.port(port.port)} · {age}
        </div>
        <div className="lane-small lane-narrow">
          {lit ? seen : age}
          {!lit && brief !== '' && ` · ${brief}`}
        </div>
        <div className="lane-small lane-narrow">{joined(interval, lit ? flagWord : '')}</div>
      </div>
      <div className="lane-value">
        <div>
          {flag !== undefined && <FlagTriangle />}
          <b>{value ?? '–'}</b>
          {value !== null && <small>%</small>}
        </div>
        <div className="lane-small lane-wide">{joined(interval, seen, flagWord)}</div>
      </div>
    </div>
  );
}

function joined(...parts: readonly string[]): string {
  return parts.filter((part) => part !== '').join(' · ');
}

function BodyFigure(props: {
  readonly trial: TrialSnapshot;
  readonly probes: readonly Port[];
  readonly lane: number;
  readonly height: number;
}): ReactElement {
  const { probes, lane, trial } = props;
  const tall = Math.max(110, 0.84 * lane * probes.length);
  const bodyWidth = Math.round(tall * 0.42 + 26);
  const middle = tall * 0.19 + 8;
  return (
    <svg className="lane-body" width={bodyWidth} height={Math.max(0, props.height)} aria-hidden="true">
      <Body x={middle} y={12} height={tall} />
      {probes.map((port, index) => {
        const place = bodyPlace(port.probe, index, probes.length);
        const x = middle + place.x * tall;
        const y = 12 + place.y * tall;
        const to = lane * (index + 0.5);
        return (
          <g key={port.port}>
            <path
              className={isLit(trial, port) ? 'leader leader-lit' : 'leader'}
              d={`M${x} ${y}L${bodyWidth - 20} ${to}H${bodyWidth}`}
            />
            <ProbeGlyph probe={port.probe} size={17} x={x} y={y} hollow={place.behind} />
          </g>
        );
      })}
    </svg>
  );
}

function drawTimeAxis(
  context: CanvasRenderingContext2D,
  width: number,
  chart: { readonly from: number; readonly to: number; readonly now: number },
  top: number,
): void {
  const colours = themeColours();
  const step = 30_000_000;
  const xOf = (at: number): number => ((at - chart.from) / (chart.to - chart.from)) * width;
  context.font = '500 14px "Atkinson Hyperlegible Next Variable", sans-serif';
  context.textBaseline = 'middle';
  context.textAlign = 'center';
  const xNow = xOf(chart.now);
  context.fillStyle = colours.ink2;
  for (let at = Math.ceil(Math.max(0, chart.from) / step) * step; at <= chart.to; at += step) {
    const x = xOf(at);
    if (x < 20 || x > width - 20 || Math.abs(x - xNow) < 48) continue;
    context.fillText(ageText(0, at), x, top + 12);
  }
  context.fillStyle = colours.lit;
  context.fillRect(xNow - 28, top + 1, 56, 22);
  context.fillStyle = colours.onlit;
  context.font = '700 14px "Atkinson Hyperlegible Next Variable", sans-serif';
  context.fillText(ageText(0, chart.now), xNow, top + 12);
}
