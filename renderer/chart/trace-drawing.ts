import type uPlot from 'uplot';
import type { TrialResult } from '../../src/bridge/result.ts';
import { commonDelayMicroseconds } from '../../src/leakage/alignment.ts';
import { arrivalOf } from '../../src/leakage/left-out.ts';
import type { LeftOut } from '../../src/leakage/left-out.ts';
import type { Place } from '../review/result-view.ts';
import { placeKey } from '../review/result-view.ts';
import { traceWords } from '../words/trace.ts';
import { themeColours } from './colours.ts';
import { pattern } from './patterns.ts';

const second = 1_000_000;
const family = '"Atkinson Hyperlegible Next Variable", sans-serif';

/** Room above the curves for the names of exercises, CSS px. */
export const bandHeight = 26;

/** What is drawn around the curves: the trial and the place that is lit. */
export interface Drawn {
  readonly result: TrialResult;
  readonly place: Place | null;
  readonly leftOut: readonly LeftOut[];
}

/** A stretch of trial time as a stretch of the chart, device px; null where nothing of it is seen. */
function stretch(chart: uPlot, from: number, to: number): { left: number; width: number } | null {
  const { bbox } = chart;
  const left = Math.max(bbox.left, chart.valToPos(from / second, 'x', true));
  const right = Math.min(bbox.left + bbox.width, chart.valToPos(to / second, 'x', true));
  return right > left ? { left, width: right - left } : null;
}

/** Under the curves: exercises as ground that is sunk, windows as ground that is not, gaps crossed and framed. */
export function drawGround(chart: uPlot, { leftOut, result }: Drawn): void {
  const colours = themeColours();
  const { ctx, bbox } = chart;
  const fill = (from: number, to: number, style: string | CanvasPattern): void => {
    const part = stretch(chart, from, to);
    if (part === null) return;
    ctx.fillStyle = style;
    ctx.fillRect(part.left, bbox.top, part.width, bbox.height);
  };
  ctx.save();
  for (const { beganAtMicroseconds: from, endedAtMicroseconds: to } of result.exercises) {
    if (from !== null) fill(from, to ?? result.endsAtMicroseconds, colours.sunk);
  }
  for (const { windows } of result.assessment?.cells ?? []) {
    for (const { fromMicroseconds, toMicroseconds } of windows) fill(fromMicroseconds, toMicroseconds, colours.panel);
  }
  const crossed = [...result.gaps, ...leftOut.flatMap((one) => arrivalsIn(result, one))];
  for (const { fromMicroseconds, toMicroseconds } of crossed) {
    fill(fromMicroseconds, toMicroseconds, colours.panel);
    fill(fromMicroseconds, toMicroseconds, pattern(ctx, 'cross', colours.edge));
    const part = stretch(chart, fromMicroseconds, toMicroseconds);
    if (part === null) continue;
    ctx.strokeStyle = colours.ink2;
    ctx.lineWidth = window.devicePixelRatio;
    ctx.strokeRect(part.left, bbox.top, part.width, bbox.height);
  }
  ctx.restore();
}

/** When what is left out came in: at once for every port, or dwell by dwell as late as the way from its probe is. */
function arrivalsIn(result: TrialResult, one: LeftOut): { fromMicroseconds: number; toMicroseconds: number }[] {
  if (one.time === 'arrival' && one.probe === null) return [one];
  const delay = commonDelayMicroseconds(result.rig);
  return result.dwells.flatMap((dwell) => {
    const port = result.rig.ports.find(({ port: number }) => number === dwell.port);
    const arrival = port === undefined ? null : arrivalOf(one, result.rig, port);
    if (arrival === null || dwell.acknowledgedAtMicroseconds === null) return [];
    const from = Math.max(arrival.fromMicroseconds, dwell.acknowledgedAtMicroseconds + delay);
    const to = Math.min(arrival.toMicroseconds, (dwell.endedAtMicroseconds ?? result.endsAtMicroseconds) + delay);
    return to > from ? [{ fromMicroseconds: from, toMicroseconds: to }] : [];
  });
}

/** Over the curves: names of exercises, flags at their cells, the lit window in a frame. */
export function drawOver(chart: uPlot, { result, place }: Drawn): void {
  const colours = themeColours();
  const { ctx, bbox } = chart;
  const scale = window.devicePixelRatio;
  ctx.save();
  ctx.textBaseline = 'middle';
  drawNames(chart, result, place);
  for (const cell of result.assessment?.cells ?? []) {
    if (!cell.flagged) continue;
    for (const { fromMicroseconds, toMicroseconds } of cell.windows) {
      triangle(chart, (fromMicroseconds + toMicroseconds) / 2);
    }
  }
  const lit = result.assessment?.cells.find((cell) => place !== null && placeKey(cell) === placeKey(place));
  for (const { fromMicroseconds, toMicroseconds } of lit?.windows ?? []) {
    const part = stretch(chart, fromMicroseconds, toMicroseconds);
    if (part === null) continue;
    ctx.strokeStyle = colours.lit;
    ctx.lineWidth = 3 * scale;
    ctx.strokeRect(part.left, bbox.top + 1.5 * scale, part.width, bbox.height - 3 * scale);
  }
  ctx.restore();
}

/** Names of exercises over their stretches: all in full, by their first word, or by number, as there is room. */
function drawNames(chart: uPlot, result: TrialResult, place: Place | null): void {
  const colours = themeColours();
  const { ctx, bbox } = chart;
  const scale = window.devicePixelRatio;
  const names = result.exercises.flatMap(({ exercise, name, beganAtMicroseconds: from, ...one }, index) => {
    const to = one.endedAtMicroseconds ?? result.endsAtMicroseconds;
    const part = from === null ? null : stretch(chart, from, to);
    if (part === null) return [];
    const texts = [`${index + 1} ${name}`, `${index + 1} ${name.split(/[\s,]/)[0] ?? ''}`, String(index + 1)];
    return [{ part, texts, lit: exercise === place?.exercise }];
  });
  const font = (lit: boolean): string => `${lit ? 700 : 500} ${13 * scale}px ${family}`;
  const fits = (level: number): boolean =>
    names.every(({ part, texts, lit }) => {
      ctx.font = font(lit);
      return ctx.measureText(texts[level] ?? '').width <= part.width + 8 * scale;
    });
  const level = [0, 1].find(fits) ?? 2;
  ctx.textAlign = 'left';
  for (const { part, texts, lit } of names) {
    ctx.font = font(lit);
    ctx.fillStyle = lit ? colours.ink : colours.ink2;
    ctx.fillText(texts[level] ?? '', part.left, bbox.top - (bandHeight / 2) * scale);
  }
}

/** The mark of a flag at the top of the chart, over the middle of its window. */
function triangle(chart: uPlot, at: number): void {
  const part = stretch(chart, at, at + second);
  if (part === null) return;
  const colours = themeColours();
  const { ctx, bbox } = chart;
  const scale = window.devicePixelRatio;
  const top = bbox.top + 5 * scale;
  ctx.beginPath();
  ctx.moveTo(part.left, top);
  ctx.lineTo(part.left + 6 * scale, top + 11 * scale);
  ctx.lineTo(part.left - 6 * scale, top + 11 * scale);
  ctx.closePath();
  ctx.fillStyle = colours.mid;
  ctx.strokeStyle = colours.ink;
  ctx.lineWidth = scale;
  ctx.fill();
  ctx.stroke();
}

/** How the chart is said to those who do not see it: how long, how many exercises and gaps, and what is lit. */
export function traceInWords({ result, place }: Omit<Drawn, 'leftOut'>): string {
  const exercise = result.exercises.find((one) => one.exercise === place?.exercise)?.name ?? null;
  const probe = result.rig.ports.find((port) => port.probe === place?.probe)?.label ?? null;
  return traceWords.described(result.exercises.length, result.gaps.length, exercise, probe);
}

/** The cell whose dwell holds a moment, trial time in µs; null between dwells on probes. */
export function placeAt(result: TrialResult, at: number): Place | null {
  const dwell = result.dwells.find(
    (one) =>
      one.purpose === 'probe' &&
      (one.acknowledgedAtMicroseconds ?? one.plannedAtMicroseconds) <= at &&
      at < (one.endedAtMicroseconds ?? 0),
  );
  return dwell?.exercise == null ? null : { exercise: dwell.exercise, probe: dwell.probe };
}
