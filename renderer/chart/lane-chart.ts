import type { Colours, ProbeColourName } from './colours.ts';
import { pattern } from './patterns.ts';
import { plot } from './plotted.ts';
import { limitNumber } from '../words/numbers.ts';
import type { StreamRing } from './stream-ring.ts';

/** A stretch of arrival time, µs. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/** A stay on a port as it is drawn. */
export interface LaneDwell extends Stretch {
  /** Air is usable from here; later than `to` when it never was. */
  readonly usableFrom: number;
  readonly now: boolean;
  /** The valve did not confirm, or the dwell was cut short: nothing of it counts. */
  readonly spoiled: boolean;
}

export interface Lane {
  readonly colour: ProbeColourName;
  /** From the top of the chart, px. */
  readonly top: number;
  readonly height: number;
  readonly lit: boolean;
  readonly dwells: readonly LaneDwell[];
  readonly planned: readonly Stretch[];
  /** A raw reading as percent of the challenge; null where the lane shows plain readings or no scale is known yet. */
  readonly toPercent: ((reading: number) => number) | null;
  readonly detectionLimitPercent: number | null;
}

export interface LaneChart {
  /** Now on arrival time, µs. */
  readonly now: number;
  readonly from: number;
  readonly to: number;
  readonly lanes: readonly Lane[];
  readonly ring: StreamRing | null;
  /** Full scale of lanes without percent, in the stream's unit. */
  readonly plainTop: number;
  readonly requirementPercent: number | null;
  /** Time in which the subject moves. */
  readonly exercises: readonly Stretch[];
  /** A pause between readings longer than this is drawn as one, µs. */
  readonly silenceMicroseconds: number;
  /** How much older than it is the newest reading may look. */
  readonly onTheWayMicroseconds: number;
  readonly nextWord: string;
  /** Says since when nothing has been read, and for how many seconds. */
  readonly noReadingWord: (since: number, seconds: number) => string;
}

/** Decades of the log axis, percent: it begins below any detection limit. */
export const axisLow = 0.001;
export const axisHigh = 10;
const decades = [0.01, 0.1, 1] as const;

/** Place on the log axis from 0 at its foot to 1; values off it are held at its ends. Only for values above zero. */
export function onLogAxis(percent: number): number {
  const place = Math.log(percent / axisLow) / Math.log(axisHigh / axisLow);
  return Math.min(1, Math.max(0, place));
}

/**
 * Time axis and lanes of the last minutes, what is planned to the right of the line of now.
 * @returns time of the newest reading that is in the picture, µs; null when none is.
 */
export function drawLanes(
  context: CanvasRenderingContext2D,
  width: number,
  chart: LaneChart,
  colours: Colours,
  lanesHeight: number,
): number | null {
  const xOf = (at: number): number => ((at - chart.from) / (chart.to - chart.from)) * width;
  context.fillStyle = colours.sunk;
  for (const { from, to } of chart.exercises) {
    context.fillRect(xOf(from), 0, xOf(Math.min(to, chart.to)) - xOf(from), lanesHeight);
  }
  context.save();
  context.beginPath();
  context.rect(0, 0, width, lanesHeight);
  context.clip();
  const lost = pauses(chart);
  let newest = Number.NEGATIVE_INFINITY;
  for (const lane of chart.lanes) {
    newest = Math.max(newest, drawLane(context, width, chart, lane, colours, xOf, lost));
  }
  context.restore();
  drawSilence(context, width, chart, colours, xOf, lost, lanesHeight);
  context.fillStyle = colours.ink;
  context.fillRect(xOf(chart.now) - 1, 0, 2, lanesHeight);
  return Number.isFinite(newest) ? newest : null;
}

/** @returns time of the newest reading drawn, µs; minus infinity when there is none. */
function drawLane(
  context: CanvasRenderingContext2D,
  width: number,
  chart: LaneChart,
  lane: Lane,
  colours: Colours,
  xOf: (at: number) => number,
  lost: readonly Stretch[],
): number {
  const { top, height } = lane;
  const inset = 3;
  const yOf = (share: number): number => top + height - inset - share * (height - 2 * inset);
  context.strokeStyle = colours.line;
  context.lineWidth = 1;
  line(context, 0, top + height, width, top + height);
  // On one axis all probes share the ground: it is drawn once.
  const ground = chart.lanes.find((one) => one.top === top) === lane;
  const dots =
    ground && lane.toPercent !== null && lane.detectionLimitPercent !== null && lane.detectionLimitPercent > 0;
  if (lane.toPercent !== null) {
    context.strokeStyle = colours.line;
    for (const decade of decades) line(context, 0, yOf(onLogAxis(decade)), width, yOf(onLogAxis(decade)));
  }
  for (const dwell of lane.dwells) {
    const left = xOf(dwell.from);
    const right = xOf(Math.min(dwell.to, chart.now));
    if (right < 0 || left > width) continue;
    const lit = lane.lit && dwell.now;
    context.fillStyle = lit ? colours.lit : colours.panel;
    context.fillRect(left, top + 1, right - left, height - 2);
    if (!lit) {
      context.strokeStyle = colours.edge;
      context.strokeRect(left + 0.5, top + 1.5, Math.max(0, right - left - 1), height - 3);
    }
    const usable = dwell.spoiled ? right : Math.min(right, xOf(dwell.usableFrom));
    context.fillStyle = pattern(context, dwell.spoiled ? 'cross' : 'hatch', lit ? colours.onlit : colours.edge);
    context.fillRect(left, top + 2, Math.max(0, usable - left), height - 4);
    context.fillStyle = pattern(context, 'cross', lit ? colours.onlit : colours.ink3);
    for (const { from, to } of lost) {
      const begin = Math.max(left, xOf(from));
      const end = Math.min(right, xOf(to));
      if (end > begin) context.fillRect(begin, top + 2, end - begin, height - 4);
    }
    if (dwell.now && dwell.to > chart.now) {
      context.strokeStyle = colours.ink;
      context.lineWidth = 2;
      context.strokeRect(right, top + 2, xOf(dwell.to) - right, height - 4);
      context.lineWidth = 1;
    }
  }
  if (dots) {
    const limit = yOf(onLogAxis(lane.detectionLimitPercent ?? 0));
    context.fillStyle = pattern(context, 'dots', colours.edge);
    context.fillRect(0, limit, width, top + height - inset - limit);
    context.setLineDash([2, 4]);
    context.strokeStyle = colours.edge;
    line(context, 0, limit, width, limit);
    context.setLineDash([]);
  }
  if (lane.toPercent !== null && chart.requirementPercent !== null) {
    const requirement = yOf(onLogAxis(chart.requirementPercent));
    context.strokeStyle = colours.ink2;
    context.lineWidth = 1.5;
    line(context, 0, requirement, width, requirement);
    context.lineWidth = 1;
  }
  let newest = Number.NEGATIVE_INFINITY;
  for (const dwell of lane.dwells) {
    newest = Math.max(newest, drawTrace(context, width, chart, lane, dwell, colours, xOf, yOf));
  }
  drawPlanned(context, chart, lane, colours, xOf);
  return newest;
}

/** Stretches of the shown time without a reading, the one that goes on now last. Before the first reading is none. */
function pauses(chart: LaneChart): Stretch[] {
  const { ring } = chart;
  const found: Stretch[] = [];
  if (ring === null) return found;
  let before: number | null = null;
  for (let index = Math.max(0, ring.indexFrom(chart.from) - 1); index < ring.length; index += 1) {
    const at = ring.timeAt(index);
    if (before !== null && at - before > chart.silenceMicroseconds) found.push({ from: before, to: at });
    before = at;
  }
  const patience = chart.silenceMicroseconds + chart.onTheWayMicroseconds;
  if (before !== null && chart.now - before > patience) found.push({ from: before, to: chart.now });
  return found;
}

/** The stretch without readings that goes on now: framed through all lanes, and said in words. */
function drawSilence(
  context: CanvasRenderingContext2D,
  width: number,
  chart: LaneChart,
  colours: Colours,
  xOf: (at: number) => number,
  lost: readonly Stretch[],
  height: number,
): void {
  const last = lost.at(-1);
  if (last === undefined || last.to < chart.now) return;
  const left = Math.max(1, xOf(last.from));
  const right = xOf(last.to);
  context.strokeStyle = colours.ink2;
  context.lineWidth = 1.5;
  context.setLineDash([5, 4]);
  context.strokeRect(left, 1, right - left, height - 2);
  context.setLineDash([]);
  const words = chart.noReadingWord(last.from, (last.to - last.from) / 1e6);
  context.font = '650 16px "Atkinson Hyperlegible Next Variable", sans-serif';
  const wide = context.measureText(words).width + 20;
  const at = Math.max(2, Math.min(right - wide - 4, width - wide));
  context.fillStyle = colours.panel;
  context.fillRect(at, height - 36, wide, 30);
  context.strokeRect(at, height - 36, wide, 30);
  context.fillStyle = colours.ink;
  context.textAlign = 'left';
  context.textBaseline = 'middle';
  context.fillText(words, at + 10, height - 21);
  context.lineWidth = 1;
}

/** To the right of the lanes: the requirement and the detection limit at their lines. @param left where lines end. */
export function drawScale(context: CanvasRenderingContext2D, left: number, chart: LaneChart, colours: Colours): void {
  const { requirementPercent } = chart;
  context.textAlign = 'left';
  context.textBaseline = 'middle';
  for (const lane of chart.lanes) {
    const { top, height, toPercent, detectionLimitPercent } = lane;
    if (toPercent === null || chart.lanes.find((one) => one.top === top) !== lane) continue;
    const yOf = (percent: number): number => top + height - 3 - onLogAxis(percent) * (height - 6);
    if (requirementPercent !== null) {
      context.fillStyle = colours.ink;
      context.font = '700 13px "Atkinson Hyperlegible Next Variable", sans-serif';
      context.fillText(limitNumber(requirementPercent, 4), left + 6, yOf(requirementPercent));
    }
    if (detectionLimitPercent !== null && detectionLimitPercent > 0) {
      context.fillStyle = colours.ink2;
      context.font = '400 13px "Atkinson Hyperlegible Next Variable", sans-serif';
      context.fillText(limitNumber(detectionLimitPercent, 2), left + 6, yOf(detectionLimitPercent));
    }
  }
}

function drawPlanned(
  context: CanvasRenderingContext2D,
  chart: LaneChart,
  lane: Lane,
  colours: Colours,
  xOf: (at: number) => number,
): void {
  context.strokeStyle = colours.edge;
  context.setLineDash([4, 3]);
  lane.planned.forEach(({ from, to }, index) => {
    const left = xOf(Math.max(from, chart.now)) + 2;
    const right = Math.min(xOf(to), xOf(chart.to)) - 2;
    if (right - left < 4) return;
    context.strokeRect(left, lane.top + 5, right - left, lane.height - 10);
    if (index > 0 || lane.height < 40 || chart.nextWord === '') return;
    if (chart.lanes.some((other) => other.planned.some((one) => one.from < from))) return;
    context.fillStyle = colours.ink2;
    context.font = `600 ${right - left < 40 ? 13 : 15}px "Atkinson Hyperlegible Next Variable", sans-serif`;
    if (context.measureText(chart.nextWord).width > right - left - 2) return;
    context.textAlign = 'center';
    context.textBaseline = 'middle';
    context.fillText(chart.nextWord, (left + right) / 2, lane.top + lane.height / 2);
  });
  context.setLineDash([]);
}

/**
 * The raw trace of one dwell: thin, grey while unusable, in the probe's colour where it counts. Never across a gap.
 * @returns time of the newest reading drawn, µs; minus infinity when there is none.
 */
function drawTrace(
  context: CanvasRenderingContext2D,
  width: number,
  chart: LaneChart,
  lane: Lane,
  dwell: LaneDwell,
  colours: Colours,
  xOf: (at: number) => number,
  yOf: (share: number) => number,
): number {
  const { ring } = chart;
  let newest = Number.NEGATIVE_INFINITY;
  if (ring === null) return newest;
  const lit = lane.lit && dwell.now;
  const share = (reading: number): number | null => {
    if (lane.toPercent === null) return Math.min(1, Math.max(0, reading / chart.plainTop));
    const percent = lane.toPercent(reading);
    return percent > 0 ? onLogAxis(percent) : null;
  };
  const part = (from: number, to: number, colour: string, wide: number): void => {
    context.strokeStyle = colour;
    context.lineWidth = wide;
    context.lineJoin = 'round';
    context.beginPath();
    const drawn = plot(
      ring,
      {
        from: Math.max(from, chart.from),
        to,
        columnMicroseconds: (chart.to - chart.from) / width,
        silenceMicroseconds: chart.silenceMicroseconds,
        placeOf: share,
      },
      {
        begin: (at, place) => context.moveTo(xOf(at), yOf(place)),
        on: (at, place) => context.lineTo(xOf(at), yOf(place)),
      },
    );
    newest = Math.max(newest, drawn);
    context.stroke();
  };
  const usableFrom = dwell.spoiled ? dwell.to : Math.min(dwell.usableFrom, dwell.to);
  part(dwell.from, usableFrom, lit ? colours.onlit : colours.ink3, 1.2);
  part(usableFrom, dwell.to, lit ? colours[`${lane.colour}-lit`] : colours[lane.colour], 2.2);
  context.lineWidth = 1;
  return newest;
}

function line(context: CanvasRenderingContext2D, x1: number, y1: number, x2: number, y2: number): void {
  context.beginPath();
  context.moveTo(x1, Math.round(y1) + 0.5);
  context.lineTo(x2, Math.round(y2) + 0.5);
  context.stroke();
}
