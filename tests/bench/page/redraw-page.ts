import uPlot from 'uplot';
import '../../../renderer/ui/tokens.css';
import { themeColours } from '../../../renderer/chart/colours.ts';
import { drawLanes, drawScale } from '../../../renderer/chart/lane-chart.ts';
import { createStreamRing } from '../../../renderer/chart/stream-ring.ts';
import { laneChart } from '../../../renderer/trial/lane-chart-of.ts';
import { madeUpTrial, readingAt } from '../../support/screens/made-up-trial.ts';
import { ownRig } from '../../support/screens/made-up.ts';
import { middle } from '../../support/screens/scenes.ts';

/**
 * The page of the redraw stage: `bench.floor(n)` and `bench.product(n)` draw n pictures, each a tenth of a second
 * later than the one before, and give the milliseconds they took. Reading a pixel makes the browser draw at once.
 */
const width = 900;
const height = 520;
const stepMicroseconds = 10_000;
const lookBackMicroseconds = 600_000_000;
const shownMicroseconds = 150_000_000;

const count = lookBackMicroseconds / stepMicroseconds;
const times = Float64Array.from({ length: count }, (_, index) => middle - (count - 1 - index) * stepMicroseconds);
const values = times.map(readingAt);
let moved = 0;
/** Stays within half a second of the middle of the trial, so that every picture shows as much. */
const nextNow = (): number => middle - (moved++ % 5) * 100_000;

document.documentElement.dataset['theme'] = 'light';

function canvasContext(canvas: HTMLCanvasElement): CanvasRenderingContext2D {
  const context = canvas.getContext('2d');
  if (context === null) throw new Error('there is no canvas');
  return context;
}

function timePictures(pictures: number, draw: () => CanvasRenderingContext2D): number {
  const began = performance.now();
  for (let picture = 0; picture < pictures; picture += 1) draw().getImageData(0, 0, 1, 1);
  return performance.now() - began;
}

const place = document.body.appendChild(document.createElement('div'));
const seconds = Array.from(times, (at) => at / 1e6);
const readings = Array.from(values, (value) => Math.max(value, 1e-5));
const library = new uPlot(
  {
    width,
    height,
    pxAlign: 0,
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false }, y: { distr: 3, range: [1e-5, 100] } },
    axes: [{}, {}],
    series: [{}, { stroke: '#2961ce', width: 2, points: { show: false } }],
  },
  [[], []],
  place,
);

const canvas = document.body.appendChild(document.createElement('canvas'));
canvas.width = width;
canvas.height = height;
const context = canvasContext(canvas);
const ring = createStreamRing(60_000);
ring.add(times, values);
const chart = laneChart({
  trial: madeUpTrial(middle),
  rig: ownRig,
  ring,
  laneHeight: 76,
  plainShare: 0.56,
  oneAxis: false,
  readingSeconds: stepMicroseconds / 1e6,
});

Object.assign(window, {
  bench: {
    floor: (pictures: number): number =>
      timePictures(pictures, () => {
        const now = nextNow();
        const end = Math.round((now - (times[0] ?? 0)) / stepMicroseconds);
        const begin = end - shownMicroseconds / stepMicroseconds;
        // Within a batch the library draws before the call returns.
        library.batch(() => library.setData([seconds.slice(begin, end), readings.slice(begin, end)]));
        return library.ctx;
      }),
    product: (pictures: number): number =>
      timePictures(pictures, () => {
        context.clearRect(0, 0, width, height);
        const made = chart(nextNow());
        const colours = themeColours();
        drawLanes(context, width - 56, made, colours, height - 24);
        drawScale(context, width - 56, made, colours);
        return context;
      }),
  },
});
