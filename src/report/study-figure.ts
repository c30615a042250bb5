import { significant } from '../model/number-text.ts';
import type { RosterRow } from '../study/study-trial.ts';
import type { ScopeSummary, StudySummary } from '../study/study-summary.ts';
import type { Figure, Shape } from './figure.ts';
import { dots, ink, line, linesOfBold, pageWidth, px } from './figure.ts';
import { logAxis, type LogAxis } from './log-axis.ts';
import { counted, nbsp, percentShort } from './numbers.ts';
import { corneredPath, probeColour, probeLook, probeMark } from './probe-look.ts';
import { times } from './study-words.ts';

type Named = readonly { readonly probe: string; readonly label: string }[];

const left = 132;
const axisRight = 560;
const top = 30;
/** More trials of an ensemble than this are spread about their line, drawn small, and joined by no lines. */
const denseCount = 30;

/** Whole trials by ensemble on a log axis: every trial a mark, subjects joined, geometric means and intervals. */
export function wholeFigure(summary: StudySummary): Figure {
  const [scope] = summary.scopes;
  if (scope === undefined) throw new RangeError('a study without a figure has no picture');
  const rowHeight = Math.max(26, Math.min(isDense(summary) ? 84 : 60, Math.floor(210 / scope.ensembles.length)));
  const bottom = top + scope.ensembles.length * rowHeight;
  const limits = [...new Set(summary.shares.map(({ limitPercent }) => limitPercent))];
  const axis = axisOf(summary, [scope], limits);
  const shapes: Shape[] = [...grid(axis, bottom), ...belowBand(scope, axis, top, bottom)];
  const places = scope.ensembles.map(({ ensemble }, index) => {
    const y = top + (index + 0.62) * rowHeight;
    return marksOf(summary.roster, ensemble, null, axis, { y, height: rowHeight * 0.5 });
  });
  shapes.push(subjectLines(places));
  scope.ensembles.forEach((one, index) => {
    const middle = top + (index + 0.62) * rowHeight;
    if (index > 0) {
      const y = top + index * rowHeight;
      shapes.push(line(0, y, pageWidth, y, { stroke: ink.line, width: 0.75 }));
    }
    linesOfBold(one.ensemble, 13, left - 12, 2).forEach((text, at, all) => {
      const y = middle + 5 + (at - (all.length - 1) / 2) * 14;
      shapes.push({ shape: 'text', x: 0, y, text, size: 13, anchor: 'start', bold: true, colour: ink.ink });
    });
    shapes.push(pointsShape(places[index] ?? [], null, index % 2 === 1));
    shapes.push(...meanShapes(one, axis, middle - rowHeight * 0.34, 5));
    const mean = one.summary.known ? percentShort(one.summary.figure.geometricMean) : '–';
    shapes.push(...words(pageWidth, middle + 5, mean, 'end', { size: 14, bold: true }));
  });
  for (const percent of limits) shapes.push(...limitShapes(axis, percent, bottom));
  shapes.push(...words(pageWidth, top - 9, 'mean', 'end'));
  return {
    id: 'figure-study',
    width: pageWidth,
    height: bottom + 24,
    title: 'Leakage of every trial by ensemble',
    description: inWords(scope),
    shapes,
  };
}

/** Every probe by ensemble: probes in body order, and the ratio to the first ensemble where there are two. */
export function probeFigure(summary: StudySummary, probes: Named): Figure | null {
  const scopes = summary.scopes.filter(({ probe }) => probe !== null);
  if (scopes.length === 0) return null;
  const rowHeight = Math.max(13, Math.min(19, Math.floor(620 / (scopes.length * summary.ensembles.length))));
  const axis = axisOf(summary, scopes, []);
  const bandHeight = summary.ensembles.length * rowHeight + 10;
  const bottom = top + scopes.length * bandHeight;
  const shapes: Shape[] = grid(axis, bottom);
  scopes.forEach((scope, band) => {
    const probe = scope.probe ?? '';
    const bandTop = top + band * bandHeight;
    if (band > 0) shapes.push(line(0, bandTop, pageWidth, bandTop, { stroke: ink.line, width: 0.75 }));
    shapes.push(...belowBand(scope, axis, bandTop + 2, bandTop + bandHeight - 2));
    shapes.push(probeMark(probe, 8, bandTop + bandHeight / 2, 14));
    const label = probes.find((one) => one.probe === probe)?.label ?? probe;
    linesOfBold(label, 12, left - 44, 2).forEach((text, at, all) => {
      const y = bandTop + bandHeight / 2 + 4 + (at - (all.length - 1) / 2) * 13;
      shapes.push({ shape: 'text', x: 20, y, text, size: 12, anchor: 'start', bold: true, colour: ink.ink });
    });
    scope.ensembles.forEach((one, index) => {
      const y = bandTop + 5 + (index + 0.5) * rowHeight;
      shapes.push(...words(left - 8, y + 4, String(index + 1), 'end'));
      const places = marksOf(summary.roster, one.ensemble, probe, axis, { y, height: rowHeight * 0.7 });
      const [interval, mean] = meanShapes(one, axis, y, 0);
      // The interval below the marks, the mean above them: both can be seen.
      shapes.push(...(interval === undefined ? [] : [interval]), pointsShape(places, probe, index % 2 === 1));
      if (mean !== undefined) shapes.push(mean);
    });
    const [ratio] = scope.ratios;
    if (ratio !== undefined && summary.ensembles.length === 2) {
      const text = ratio.ratio.known ? `×${nbsp}${times(ratio.ratio.figure.ratio)}` : 'no ratio';
      shapes.push(...words(pageWidth, bandTop + bandHeight / 2 + 5, text, 'end', { size: 13, bold: true }));
    }
  });
  if (summary.ensembles.length === 2) shapes.push(...words(pageWidth, top - 9, '2 leaks … times 1', 'end'));
  return {
    id: 'figure-study-probes',
    width: pageWidth,
    height: bottom + 24,
    title: 'Leakage of every trial by probe and ensemble',
    description: scopes.map(inWords).join(' '),
    shapes,
  };
}

/** Whether an ensemble has so many trials that its marks are small, and no lines join subjects. */
export function isDense({ roster, ensembles }: StudySummary): boolean {
  return ensembles.some(
    (ensemble) => roster.filter((row) => row.leftOut === null && row.ensemble === ensemble).length > denseCount,
  );
}

interface Mark {
  readonly subject: string;
  readonly x: number;
  readonly y: number;
  readonly below: boolean;
}

function marksOf(
  roster: readonly RosterRow[],
  ensemble: string,
  probe: string | null,
  axis: LogAxis,
  { y, height }: { readonly y: number; readonly height: number },
): Mark[] {
  const own = roster.filter((row) => row.leftOut === null && row.ensemble === ensemble);
  const spread = own.length > denseCount ? height : 0;
  return own.flatMap((row, order): Mark[] => {
    const leakage = probe === null ? row.whole : (row.probes[probe] ?? null);
    if (leakage === null) return [];
    const x = Math.max(left + 5, axis.place(leakage.percent) - (leakage.below ? 8 : 0));
    // Spread by the golden section: evenly, and the same every time.
    return [{ subject: row.subject, x, y: y + spread * (((order * 0.618034) % 1) - 0.5), below: leakage.below }];
  });
}

/** All marks of a row as one path: a thousand trials are one shape. */
function pointsShape(marks: readonly Mark[], probe: string | null, hollow: boolean): Shape {
  const colour = probe === null ? ink.ink : probeColour(probe);
  const dense = marks.length > denseCount;
  const size = dense ? 7 : probe === null ? 11 : 9;
  const d = marks.map(({ x, y, below }) => markPath(probe, x, y, size) + (below ? arrowPath(x, y, size) : '')).join('');
  const fill = hollow ? ink.page : colour;
  const width = hollow ? (dense ? 0.9 : 1.3) : 0.6;
  const outline = dense && !hollow ? {} : { stroke: hollow ? colour : ink.page, width };
  return { shape: 'path', d, paint: { fill, ...outline } };
}

function markPath(probe: string | null, x: number, y: number, size: number): string {
  const shape = probe === null ? 'disc' : probeLook(probe).shape;
  if (shape !== 'disc' && shape !== 'ring') return corneredPath(shape, x, y, size);
  const r = Number(px((9 * size) / 22));
  return `M${px(x - r)} ${px(y)}a${r} ${r} 0 0 0 ${2 * r} 0a${r} ${r} 0 0 0 ${-2 * r} 0Z`;
}

function arrowPath(x: number, y: number, size: number): string {
  return `M${px(x - size)} ${px(y)}L${px(x - size / 2)} ${px(y - 3)}V${px(y + 3)}Z`;
}

function subjectLines(rows: readonly (readonly Mark[])[]): Shape {
  const d = rows
    .slice(1)
    .flatMap((row, index) => {
      const before = rows[index] ?? [];
      if (row.length > denseCount || before.length > denseCount) return [];
      const from = new Map(before.map((mark) => [mark.subject, mark]));
      return row.flatMap((mark) => {
        const other = from.get(mark.subject);
        return other === undefined ? [] : [`M${px(other.x)} ${px(other.y)}L${px(mark.x)} ${px(mark.y)}`];
      });
    })
    .join('');
  return { shape: 'path', d: d === '' ? 'M0 0' : d, paint: { stroke: ink.edge, width: 0.7 } };
}

function meanShapes({ summary }: ScopeSummary['ensembles'][number], axis: LogAxis, y: number, stop: number): Shape[] {
  if (!summary.known) return [];
  const { geometricMean, geometricMeanLow, geometricMeanHigh } = summary.figure;
  const low = Math.max(left, axis.place(geometricMeanLow));
  const high = Math.min(axisRight, axis.place(geometricMeanHigh));
  const x = axis.place(geometricMean);
  const thin = { stroke: ink.ink, width: 1.2 };
  return [
    line(low, y, high, y, thin),
    ...(stop === 0 ? [] : [low, high].map((end) => line(end, y - stop, end, y + stop, thin))),
    line(x, y - 6, x, y + 6, { stroke: ink.ink, width: 3 }),
  ];
}

function belowBand({ detectionLimitPercent: limit }: ScopeSummary, axis: LogAxis, from: number, to: number): Shape[] {
  if (limit === null || limit <= axis.low) return [];
  const right = Math.min(axisRight, axis.place(limit));
  const edge = { stroke: ink.edge, width: 1.2, dash: '1.5 2.5' };
  return [dots(left, from, right - left, to - from, { fill: ink.edge }), line(right, from, right, to, edge)];
}

function limitShapes(axis: LogAxis, percent: number, bottom: number): Shape[] {
  const x = axis.place(percent);
  const isRight = x > axisRight - 110;
  return [
    line(x, top - 4, x, bottom, { stroke: ink.ink, width: 2 }),
    ...words(isRight ? x - 5 : x + 5, top - 9, `limit ${percentShort(percent)}`, isRight ? 'end' : 'start', {
      size: 12,
      bold: true,
    }),
  ];
}

function axisOf(summary: StudySummary, scopes: readonly ScopeSummary[], limits: readonly number[]): LogAxis {
  const shown = [...limits];
  for (const { probe, ensembles, detectionLimitPercent } of scopes) {
    for (const row of summary.roster) {
      const leakage = probe === null ? row.whole : (row.probes[probe] ?? null);
      if (row.leftOut !== null || leakage === null) continue;
      shown.push(leakage.below ? leakage.percent / 3 : leakage.percent / 1.15, leakage.percent * 1.15);
    }
    const any = ensembles.some(({ summary: own }) => own.known && own.figure.below > 0);
    if (any && detectionLimitPercent !== null) shown.push(detectionLimitPercent / 3);
  }
  return logAxis(shown, left, axisRight);
}

function grid(axis: LogAxis, bottom: number): Shape[] {
  return axis.ticks.flatMap((tick) => {
    const x = axis.place(tick);
    const text = `${significant(tick, 1)}${nbsp}%`;
    return [line(x, top, x, bottom, { stroke: ink.line, width: 1 }), ...words(x, bottom + 16, text, 'middle')];
  });
}

function words(
  x: number,
  y: number,
  text: string,
  anchor: 'start' | 'middle' | 'end',
  { size = 11.5, bold = false }: { readonly size?: number; readonly bold?: boolean } = {},
): Shape[] {
  return [{ shape: 'text', x, y, text, size, anchor, bold, colour: bold ? ink.ink : ink.ink2 }];
}

function inWords({ probe, ensembles }: ScopeSummary): string {
  const rows = ensembles.map(({ ensemble, summary: own, trials }) => {
    const mean = own.known ? `geometric mean ${percentShort(own.figure.geometricMean)}` : 'no mean';
    return `${ensemble}: ${counted(trials, 'trial', 'trials')}, ${mean}`;
  });
  return `${probe ?? 'Whole trials'}, on a log scale. ${rows.join('; ')}.`;
}
