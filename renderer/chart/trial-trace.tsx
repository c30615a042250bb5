import { useEffect, useRef, useState, type ReactElement } from 'react';
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import type { TrialResult } from '../../src/bridge/result.ts';
import { units } from '../../src/model/unit.ts';
import type { LeftOut } from '../../src/leakage/left-out.ts';
import type { Place } from '../review/result-view.ts';
import type { TraceShown } from '../review/trace-shown.ts';
import { traceWords } from '../words/trace.ts';
import { significant } from '../words/numbers.ts';
import { trialTime } from '../words/times.ts';
import { probeColour, themeColours } from './colours.ts';
import { decadesAround, traceData, type TraceData } from './trace-data.ts';
import { bandHeight, drawGround, drawOver, placeAt, traceInWords, type Drawn } from './trace-drawing.ts';
import './trial-trace.css';

const second = 1_000_000;
/** Steps of the time axis that people count in, s. */
const timeSteps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600] as const;
const labelFont = '500 14px "Atkinson Hyperlegible Next Variable", sans-serif';

/**
 * What the photometer read over the whole trial: thin where it was not used, in the probe's colour inside windows,
 * with the lit cell in a frame. Dragging across a stretch looks closer, a double click at the whole again; where a
 * stretch is asked for, dragging gives one instead.
 */
export function TrialTrace(props: {
  readonly result: TrialResult;
  readonly place: Place | null;
  readonly onChoose: (place: Place) => void;
  readonly leftOut: readonly LeftOut[];
  readonly onStretch: TraceShown['onStretch'];
  readonly history: (
    stream: number,
    from: number,
    to: number,
  ) => Promise<{ times: Float64Array; values: Float64Array }>;
}): ReactElement {
  const { result } = props;
  const holder = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const latest = useRef(props);
  const [state, setState] = useState<'loading' | 'here' | 'failed'>('loading');
  const stream = result.streams.findIndex(
    (one) => one.instrument === result.rig.photometer && one.stream === result.rig.photometerStream,
  );
  useEffect(() => {
    latest.current = props;
    const chart = plot.current;
    if (chart === null) return;
    looksCloser(chart, props.onStretch === null);
    chart.redraw(false);
  });
  useEffect(() => {
    const place = holder.current;
    if (place === null || stream < 0) return;
    let gone = false;
    const sized = new ResizeObserver(() => {
      plot.current?.setSize({ width: place.clientWidth, height: place.clientHeight });
    });
    const themed = new MutationObserver(() => plot.current?.redraw(false, true));
    latest.current.history(stream, 0, result.endsAtMicroseconds).then(
      ({ times, values }) => {
        if (gone) return;
        setState('here');
        const descriptor = result.streams[stream];
        plot.current = makeChart(
          place,
          traceData(result, times, values),
          descriptor === undefined ? '' : units[descriptor.unit].symbol,
          () => latest.current,
          (at) => {
            const chosen = placeAt(latest.current.result, at);
            if (chosen !== null) latest.current.onChoose(chosen);
          },
          (from, to) => latest.current.onStretch?.(from, to),
        );
        looksCloser(plot.current, latest.current.onStretch === null);
        sized.observe(place);
        themed.observe(document.documentElement, { attributeFilter: ['data-theme'] });
      },
      () => {
        if (!gone) setState('failed');
      },
    );
    return () => {
      gone = true;
      sized.disconnect();
      themed.disconnect();
      plot.current?.destroy();
      plot.current = null;
    };
    // The same trial is drawn once; what is lit in it is read when it is drawn.
  }, [result, stream]);
  return (
    <div className="trial-trace">
      <div className="trial-trace-chart" ref={holder} role="img" aria-label={traceInWords(props)} />
      {state !== 'here' && (
        <p className="trial-trace-word" role="status">
          {stream < 0 ? traceWords.none : state === 'loading' ? traceWords.loading : traceWords.failed}
        </p>
      )}
    </div>
  );
}

/** Whether dragging looks closer. The library reads it when the button is let go. */
function looksCloser(chart: uPlot, closer: boolean): void {
  const { drag } = chart.cursor;
  if (drag !== undefined) drag.setScale = closer;
}

function makeChart(
  place: HTMLElement,
  data: TraceData,
  unit: string,
  drawn: () => Drawn,
  onTime: (microseconds: number) => void,
  onStretch: (fromMicroseconds: number, toMicroseconds: number) => void,
): uPlot {
  const curve = { spanGaps: false, points: { show: false } };
  return new uPlot(
    {
      width: place.clientWidth,
      height: place.clientHeight,
      padding: [bandHeight, 14, 0, 0],
      legend: { show: false },
      cursor: { drag: { x: true, y: false }, y: false, points: { show: false } },
      scales: { x: { time: false }, y: { distr: 3, range: () => decadesAround(data.span) } },
      axes: [
        {
          ...axis(),
          size: 30,
          space: 64,
          incrs: [...timeSteps],
          values: (_, values) => values.map((value) => trialTime(value * second)),
        },
        {
          ...axis(),
          size: 62,
          label: unit,
          labelSize: 20,
          labelFont,
          filter: (_, splits) => splits.map(decadeOnly),
          grid: { ...axis().grid, filter: (_, splits) => splits.map(decadeOnly) },
          // The library's own numbers end at three decimals: a decade below would read as zero.
          values: (_, values) => values.map((value) => (value > 0 ? significant(value, 1) : '')),
        },
      ],
      series: [
        {},
        { ...curve, stroke: () => themeColours().ink3, width: 1.3 },
        ...data.probes.map((probe) => ({ ...curve, stroke: () => themeColours()[probeColour(probe)], width: 2.6 })),
      ],
      hooks: {
        drawClear: [(chart) => drawGround(chart, drawn())],
        draw: [(chart) => drawOver(chart, drawn())],
        setSelect: [
          (chart) => {
            const { left, width } = chart.select;
            if (width <= 0 || chart.cursor.drag?.setScale !== false) return;
            onStretch(chart.posToVal(left, 'x') * second, chart.posToVal(left + width, 'x') * second);
            chart.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
          },
        ],
        ready: [
          (chart) =>
            chart.over.addEventListener('click', (event) => onTime(chart.posToVal(event.offsetX, 'x') * second)),
        ],
      },
    },
    [data.seconds, data.readings, ...data.inWindows],
    place,
  );
}

/** Decades have lines and figures, the steps between them a tick. Splits are rounded: a decade is only nearly one. */
function decadeOnly(value: number): number | null {
  const exponent = Math.log10(value);
  return Math.abs(exponent - Math.round(exponent)) < 1e-6 ? value : null;
}

function axis(): uPlot.Axis {
  return {
    font: '500 13px "Atkinson Hyperlegible Next Variable", sans-serif',
    stroke: () => themeColours().ink2,
    grid: { stroke: () => themeColours().line, width: 1 },
    ticks: { stroke: () => themeColours().line, width: 1, size: 6 },
  };
}
