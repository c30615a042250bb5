import { useEffect, useRef, useState, type ReactElement } from 'react';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { TrialResult } from '../../src/bridge/result.ts';
import { units } from '../../src/model/unit.ts';
import type { Place } from '../review/result-view.ts';
import { traceWords } from '../words/trace.ts';
import { trialTime } from '../words/times.ts';
import { probeColour, themeColours } from './colours.ts';
import { pattern } from './patterns.ts';

const second = 1_000_000;

/** What the photometer read over the whole trial, with exercises, windows and gaps drawn over it. */
export function TrialTrace(props: {
  readonly result: TrialResult;
  readonly place: Place | null;
  readonly onChoose: (place: Place) => void;
  readonly history: (
    stream: number,
    from: number,
    to: number,
  ) => Promise<{ times: Float64Array; values: Float64Array }>;
}): ReactElement {
  const { result, history } = props;
  const holder = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const latest = useRef(props);
  const [state, setState] = useState<'loading' | 'here' | 'failed'>('loading');
  const stream = result.streams.findIndex(
    (one) => one.instrument === result.rig.photometer && one.stream === result.rig.photometerStream,
  );
  useEffect(() => {
    latest.current = props;
    plot.current?.redraw(false);
  });
  useEffect(() => {
    const place = holder.current;
    if (place === null || stream < 0) return;
    let gone = false;
    const observer = new ResizeObserver(() => {
      plot.current?.setSize({ width: place.clientWidth, height: place.clientHeight });
    });
    history(stream, 0, result.endsAtMicroseconds).then(
      ({ times, values }) => {
        if (gone) return;
        setState('here');
        const descriptor = result.streams[stream];
        const unit = descriptor === undefined ? '' : units[descriptor.unit].symbol;
        plot.current = new uPlot(
          {
            width: place.clientWidth,
            height: place.clientHeight,
            legend: { show: false },
            cursor: { drag: { x: true, y: false }, y: false },
            scales: {
              x: { time: false },
              y: { distr: 3, range: (_, low, high) => [floorOf(low), Math.max(high, 1e-4)] },
            },
            axes: [axis(null, (value) => trialTime(value * second)), axis(unit, null)],
            series: [{}, { stroke: () => themeColours().ink, width: 1, spanGaps: false, points: { show: false } }],
            hooks: {
              drawClear: [(chart) => drawUnder(chart, latest.current)],
              ready: [
                (chart) =>
                  chart.over.addEventListener('click', (event) => {
                    const at = chart.posToVal(event.offsetX, 'x') * second;
                    const chosen = placeAt(latest.current.result, at);
                    if (chosen !== null) latest.current.onChoose(chosen);
                  }),
              ],
            },
          },
          readings(times, values, result),
          place,
        );
        observer.observe(place);
      },
      () => {
        if (!gone) setState('failed');
      },
    );
    return () => {
      gone = true;
      observer.disconnect();
      plot.current?.destroy();
      plot.current = null;
    };
    // The same trial is drawn once; what is lit in it is read when it is drawn.
  }, [result, stream]);
  return (
    <div className="trial-trace" ref={holder} role="img" aria-label={traceWords.label}>
      {state !== 'here' && (
        <p className="trial-trace-word" role="status">
          {state === 'loading' ? traceWords.loading : traceWords.failed}
        </p>
      )}
    </div>
  );
}

/** Seconds and readings with a hole at every gap. Nothing at or below zero has a place on a log axis. */
function readings(times: Float64Array, values: Float64Array, result: TrialResult): [number[], (number | null)[]] {
  const x: number[] = [];
  const y: (number | null)[] = [];
  for (let index = 0; index < times.length; index += 1) {
    const at = times[index] ?? 0;
    const value = values[index] ?? Number.NaN;
    const before = times[index - 1];
    const gap = result.gaps.find((one) => one.fromMicroseconds < at && at <= one.toMicroseconds + second);
    if (before !== undefined && gap !== undefined && before <= gap.fromMicroseconds) {
      x.push((before + at) / 2 / second);
      y.push(null);
    }
    x.push(at / second);
    y.push(value > 0 ? value : null);
  }
  return [x, y];
}

function floorOf(low: number): number {
  return 10 ** Math.floor(Math.log10(Math.max(low, 1e-5)));
}

function axis(label: string | null, text: ((value: number) => string) | null): uPlot.Axis {
  return {
    ...(label === null ? {} : { label, labelSize: 22, labelFont: '500 14px "Atkinson Hyperlegible Next Variable"' }),
    font: '500 13px "Atkinson Hyperlegible Next Variable"',
    stroke: () => themeColours().ink2,
    grid: { stroke: () => themeColours().line, width: 1 },
    ticks: { stroke: () => themeColours().line, width: 1 },
    ...(text === null ? {} : { values: (_: uPlot, values: number[]) => values.map(text) }),
  };
}

interface Drawn {
  readonly result: TrialResult;
  readonly place: Place | null;
}

/** Under the trace: time of exercises, windows in their probe's colour, the chosen one lit, gaps crossed. */
function drawUnder(chart: uPlot, { result, place }: Drawn): void {
  const colours = themeColours();
  const { ctx, bbox } = chart;
  const box = (from: number, to: number, fill: string | CanvasPattern, alpha: number): void => {
    const left = Math.max(bbox.left, chart.valToPos(from / second, 'x', true));
    const right = Math.min(bbox.left + bbox.width, chart.valToPos(to / second, 'x', true));
    if (right <= left) return;
    ctx.globalAlpha = alpha;
    ctx.fillStyle = fill;
    ctx.fillRect(left, bbox.top, right - left, bbox.height);
    ctx.globalAlpha = 1;
  };
  for (const { beganAtMicroseconds: from, endedAtMicroseconds: to } of result.exercises) {
    if (from !== null) box(from, to ?? result.endsAtMicroseconds, colours.sunk, 1);
  }
  for (const cell of result.assessment?.cells ?? []) {
    const chosen = place !== null && place.exercise === cell.exercise && place.probe === cell.probe;
    for (const { fromMicroseconds, toMicroseconds } of cell.windows) {
      box(fromMicroseconds, toMicroseconds, colours[probeColour(cell.probe)], chosen ? 0.55 : 0.2);
      if (chosen) {
        const left = chart.valToPos(fromMicroseconds / second, 'x', true);
        const right = chart.valToPos(toMicroseconds / second, 'x', true);
        ctx.strokeStyle = colours.ink;
        ctx.lineWidth = 2 * window.devicePixelRatio;
        ctx.strokeRect(left, bbox.top + 1, right - left, bbox.height - 2);
      }
    }
  }
  for (const gap of result.gaps) {
    box(gap.fromMicroseconds, gap.toMicroseconds, pattern(ctx, 'cross', colours.ink2), 1);
  }
}

/** The cell whose dwell holds a moment; null between dwells on probes. */
function placeAt(result: TrialResult, at: number): Place | null {
  const dwell = result.dwells.find(
    (one) =>
      one.purpose === 'probe' &&
      (one.acknowledgedAtMicroseconds ?? one.plannedAtMicroseconds) <= at &&
      at < (one.endedAtMicroseconds ?? 0),
  );
  return dwell?.exercise == null ? null : { exercise: dwell.exercise, probe: dwell.probe };
}
