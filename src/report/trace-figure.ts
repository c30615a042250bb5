import type { Cell } from '../leakage/assessment.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { streamOf } from '../model/trial-record.ts';
import { units } from '../model/unit.ts';
import { significant } from '../model/number-text.ts';
import type { Figure, Shape } from './figure.ts';
import { hatch, ink, line, linesOfBold, pageWidth, px } from './figure.ts';
import { flagMark, probeColour, probeMark } from './probe-look.ts';
import { trialTime } from './moments.ts';
import type { Gap, ToldExercise } from './story.ts';
import { reportWords } from './words.ts';

const second = 1_000_000;
const left = 48;
const right = pageWidth - 2;
/** Above the curves, with one line for the names of exercises; each line more of them makes it higher. */
const leastBand = 34;
const nameSize = 11;
const nameLine = 12;
/** A name of more lines is cut: its number leads to the table of the exercises, which has all of it. */
const mostNameLines = 5;
const plotHeight = 118;

/** Everything that the trace shows besides the readings. */
export interface TraceParts {
  readonly record: TrialRecord;
  readonly cells: readonly Cell[];
  readonly exercises: readonly ToldExercise[];
  readonly gaps: readonly Gap[];
  readonly endMicroseconds: number;
  /** What single readings of filtered air scatter by, in the stream's unit; null when it is not known. */
  readonly scatter: number | null;
}

interface Window {
  readonly probe: string;
  readonly flagged: boolean;
  readonly from: number;
  readonly to: number;
}

/**
 * What the photometer read over the whole trial, one strip below the other, each of the same length: thin where it was
 * not used, in the probe's colour inside windows. No line goes through a gap, and what is not above zero has no place
 * on a log axis.
 * @returns none when the record holds no reading of the photometer that has a place.
 */
export function traceFigures(parts: TraceParts): Figure[] {
  const { record, endMicroseconds } = parts;
  const stream = streamOf(record, record.rig.photometer, record.rig.photometerStream);
  if (stream === undefined || endMicroseconds <= 0) return [];
  const ends = decades(stream.values, parts.scatter);
  if (ends === null) return [];
  const windows = windowsOf(parts.cells);
  const length = stripSeconds(endMicroseconds / second) * second;
  const count = Math.max(1, Math.ceil(endMicroseconds / length));
  const curves = thinned(stream.atMicroseconds, stream.values, windows, parts.gaps, length);
  return Array.from({ length: count }, (_, index): Figure => {
    const span = { from: index * length, to: (index + 1) * length };
    const names = namesIn(span, parts);
    const most = Math.max(1, ...names.map(({ lines }) => lines.length));
    const band = leastBand + nameLine * (most - 1);
    const strip: Strip = { ...span, ends, names, band, bottom: band + plotHeight };
    const until = Math.min(strip.to, endMicroseconds);
    const shapes = [
      ...ground(strip, parts, windows),
      ...axes(strip, units[stream.descriptor.unit].symbol, parts),
      ...curves.filter((curve) => curve.strip === index).flatMap((curve) => curveShape(curve, strip)),
      ...over(strip, windows),
    ];
    return {
      id: `figure-trace-${index + 1}`,
      width: pageWidth,
      height: strip.bottom + 20,
      title: reportWords.trace.title(trialTime(strip.from), trialTime(until)),
      description: reportWords.trace.description(
        parts.exercises.filter((one) => overlaps(one, strip)).map(({ name }) => name),
        windows.filter((one) => one.from < strip.to && one.to > strip.from).length,
        parts.gaps.filter((one) => one.fromMicroseconds < strip.to && one.toMicroseconds > strip.from).length,
      ),
      shapes,
    };
  });
}

/** A stretch of trial time, µs, across the page. */
interface Span {
  readonly from: number;
  readonly to: number;
}

interface Strip extends Span {
  /** Powers of ten at the ends of the axis. */
  readonly ends: readonly [low: number, high: number];
  readonly names: readonly Name[];
  /** Where the plot begins and ends, px from the top. */
  readonly band: number;
  readonly bottom: number;
}

/** The name of an exercise above its stretch. */
interface Name {
  readonly x: number;
  readonly lines: readonly string[];
}

function namesIn(span: Span, parts: TraceParts): Name[] {
  return parts.exercises.flatMap(({ name, beganAtMicroseconds: from, endedAtMicroseconds: to }, index): Name[] => {
    const part = from === null ? null : stretch(span, from, to ?? parts.endMicroseconds);
    if (part === null || part.width < 12) return [];
    // Where a word would be torn letter by letter the number says it.
    const lines = part.width < 40 ? [] : linesOfBold(`${index + 1}.\u00a0${name}`, nameSize, part.width, mostNameLines);
    return [{ x: part.x, lines: lines.length === 0 ? [String(index + 1)] : lines }];
  });
}

function stripSeconds(seconds: number): number {
  return [300, 600, 900, 1200, 1800, 3600].find((length) => seconds / length <= 4) ?? 7200;
}

/** At most six decades below the highest reading, and where it is known, down to what filtered air scatters by. */
function decades(values: Float64Array, scatter: number | null): readonly [number, number] | null {
  let high = 0;
  let low = Number.POSITIVE_INFINITY;
  for (const value of values) {
    if (!(value > 0) || value === Number.POSITIVE_INFINITY) continue;
    high = Math.max(high, value);
    low = Math.min(low, value);
  }
  if (high === 0) return null;
  const top = Math.ceil(Math.log10(high));
  const noise = scatter !== null && scatter > 0 ? scatter : 0;
  const wanted = Math.floor(Math.log10(Math.max(low, noise)));
  return [Math.min(Math.max(wanted, top - 6), top - 1), top];
}

function windowsOf(cells: readonly Cell[]): Window[] {
  const windows = cells.flatMap(({ probe, flagged, parts }) =>
    parts.flatMap(({ reading }): Window[] =>
      reading === null
        ? []
        : [{ probe, flagged, from: reading.arrivalFromMicroseconds, to: reading.arrivalToMicroseconds }],
    ),
  );
  return windows.sort((one, other) => one.from - other.from);
}

function xOf(strip: Span, at: number): number {
  return left + ((at - strip.from) / (strip.to - strip.from)) * (right - left);
}

function yOf(strip: Strip, value: number): number {
  const [low, high] = strip.ends;
  return strip.bottom - ((Math.log10(value) - low) / (high - low)) * plotHeight;
}

/** A stretch of time as a stretch of the strip; null where nothing of it is seen. */
function stretch(strip: Span, from: number, to: number): { readonly x: number; readonly width: number } | null {
  const x = xOf(strip, Math.max(from, strip.from));
  const end = xOf(strip, Math.min(to, strip.to));
  return end > x ? { x, width: end - x } : null;
}

function overlaps({ beganAtMicroseconds: from, endedAtMicroseconds: to }: ToldExercise, strip: Strip): boolean {
  return from !== null && from < strip.to && (to ?? from) > strip.from;
}

function ground(strip: Strip, parts: TraceParts, windows: readonly Window[]): Shape[] {
  const shapes: Shape[] = [];
  const fill = (from: number, to: number, colour: string): void => {
    const part = stretch(strip, from, to);
    if (part === null) return;
    shapes.push({ shape: 'rect', ...part, y: strip.band, height: plotHeight, paint: { fill: colour } });
  };
  for (const { beganAtMicroseconds: from, endedAtMicroseconds: to } of parts.exercises) {
    if (from !== null) fill(from, to ?? parts.endMicroseconds, ink.sunk);
  }
  for (const { from, to } of windows) fill(from, to, ink.page);
  for (const gap of parts.gaps) {
    const part = stretch(strip, gap.fromMicroseconds, gap.toMicroseconds);
    if (part === null) continue;
    const paint = { stroke: ink.edge, width: 0.8 };
    shapes.push({ shape: 'rect', ...part, y: strip.band, height: plotHeight, paint: { fill: ink.page } });
    if (part.width > 3) shapes.push(hatch(part.x, strip.band, part.width, plotHeight, 6, paint));
    shapes.push({ shape: 'rect', ...part, y: strip.band, height: plotHeight, paint: { stroke: ink.ink2, width: 1 } });
  }
  return shapes;
}

function axes(strip: Strip, symbol: string, parts: TraceParts): Shape[] {
  const shapes: Shape[] = [];
  const [low, high] = strip.ends;
  const step = high - low > 3 ? 2 : 1;
  for (let exponent = high; exponent >= low; exponent -= 1) {
    const y = yOf(strip, 10 ** exponent);
    shapes.push(line(left, y, right, y, { stroke: ink.line, width: 0.75 }));
    if ((high - exponent) % step !== 0) continue;
    shapes.push(label(left - 6, y + 3.5, significant(10 ** exponent, 1), 'end'));
  }
  shapes.push(label(left - 6, strip.band - 8, symbol, 'end'));
  const seconds = (strip.to - strip.from) / second;
  const every = (seconds <= 600 ? 60 : seconds <= 1200 ? 120 : 300) * second;
  for (let at = strip.from; at <= Math.min(strip.to, parts.endMicroseconds); at += every) {
    const x = xOf(strip, at);
    shapes.push(line(x, strip.bottom, x, strip.bottom + 4, { stroke: ink.edge, width: 1 }));
    shapes.push(label(x, strip.bottom + 16, trialTime(at), x > right - 14 ? 'end' : 'middle'));
  }
  return shapes;
}

/** Above the curves: names of exercises, the mark of the probe at each window, flags. */
function over(strip: Strip, windows: readonly Window[]): Shape[] {
  const shapes: Shape[] = [];
  for (const { x, lines } of strip.names) {
    lines.forEach((text, index) => shapes.push({ ...label(x, 11 + index * nameLine, text, 'start'), bold: true }));
  }
  for (const { probe, flagged, from, to } of windows) {
    const part = stretch(strip, from, to);
    if (part === null || part.width < 4) continue;
    shapes.push(probeMark(probe, part.x + part.width / 2, strip.band - 9, 10));
    if (flagged) shapes.push(flagMark(part.x + part.width / 2, strip.band + 8, 10));
  }
  return shapes;
}

function label(x: number, y: number, text: string, anchor: 'start' | 'middle' | 'end'): Shape & { shape: 'text' } {
  return { shape: 'text', x, y, text, size: nameSize, anchor, colour: ink.ink2 };
}

interface Curve {
  readonly strip: number;
  /** Null outside windows. */
  readonly probe: string | null;
  readonly at: number[];
  readonly values: number[];
}

/**
 * Readings as lines, at most four of them in each of a strip's columns (first, lowest, highest, last: what a line
 * through all of them would have covered). A line ends at a gap, at a window's edge, and at what has no place.
 */
function thinned(
  times: Float64Array,
  values: Float64Array,
  windows: readonly Window[],
  gaps: readonly Gap[],
  length: number,
): Curve[] {
  const columns = (right - left) * 1.5;
  const curves: Curve[] = [];
  let curve: Curve | null = null;
  let column = -1;
  let held: { at: number; value: number }[] = [];
  const flush = (): void => {
    if (curve !== null && held.length > 0) {
      const byValue = [...held].sort((one, other) => one.value - other.value);
      const kept = new Set([held[0], byValue[0], byValue.at(-1), held.at(-1)]);
      for (const reading of held) {
        if (!kept.has(reading)) continue;
        curve.at.push(reading.at);
        curve.values.push(reading.value);
      }
    }
    held = [];
  };
  let nextWindow = 0;
  let nextGap = 0;
  let before: number | null = null;
  for (let index = 0; index < times.length; index += 1) {
    const at = times[index] as number;
    const value = values[index] as number;
    while ((windows[nextWindow]?.to ?? Number.POSITIVE_INFINITY) <= at) nextWindow += 1;
    while ((gaps[nextGap]?.toMicroseconds ?? Number.POSITIVE_INFINITY) <= at) nextGap += 1;
    const window = windows[nextWindow];
    const probe = window !== undefined && window.from <= at ? window.probe : null;
    const gap = gaps[nextGap - 1];
    const broken = gap !== undefined && before !== null && before <= gap.fromMicroseconds;
    const strip = Math.floor(at / length);
    before = at;
    if (!(value > 0) || !Number.isFinite(value)) {
      flush();
      curve = null;
      continue;
    }
    if (curve === null || curve.strip !== strip || curve.probe !== probe || broken) {
      flush();
      curve = { strip, probe, at: [], values: [] };
      curves.push(curve);
    }
    const place = Math.floor((at / length) * columns);
    if (place !== column) {
      flush();
      column = place;
    }
    held.push({ at, value });
  }
  flush();
  return curves;
}

function curveShape(curve: Curve, strip: Strip): Shape[] {
  const floor = 10 ** strip.ends[0];
  const parts: string[] = [];
  let down = false;
  curve.at.forEach((at, index) => {
    const value = curve.values[index] ?? 0;
    if (value < floor) {
      down = false;
      return;
    }
    parts.push(`${down ? 'L' : 'M'}${px(xOf(strip, at))} ${px(yOf(strip, value))}`);
    down = true;
  });
  if (parts.length < 2) return [];
  const paint =
    curve.probe === null ? { stroke: ink.ink3, width: 0.9 } : { stroke: probeColour(curve.probe), width: 2.2 };
  return [{ shape: 'path', d: parts.join(''), paint }];
}
