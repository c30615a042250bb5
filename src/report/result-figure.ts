import type { Assessment, Cell } from '../leakage/assessment.ts';
import { significant } from '../model/number-text.ts';
import type { Port } from '../model/rig.ts';
import type { Figure, Shape } from './figure.ts';
import { boldWidth, dots, hatch, ink, line, linesOfBold, pageWidth, roughWidth } from './figure.ts';
import { logAxis, type LogAxis } from './log-axis.ts';
import { counted, nbsp, percentShort } from './numbers.ts';
import { probeMark } from './probe-look.ts';
import { reportWords } from './words.ts';

/** Where the axis begins: with long labels further to the right, but never so far that the values lose their room. */
const leastLeft = 132;
const mostLeft = 236;
const labelLeft = 24;
const labelGap = 14;
const axisRight = 590;
const top = 30;
const radius = 4.2;

/**
 * Every value of a trial at a glance: probes in body order from top to bottom, leakage to the right on a log scale. A
 * value below its detection limit sits in the dotted band with an arrow to the low side; what is in doubt is hollow.
 * @param requirementPercent leakage that is allowed; null when nothing is
 */
export function resultFigure(
  assessment: Assessment,
  probes: readonly Port[],
  requirementPercent: number | null,
): Figure {
  // With many probes lower rows: the first page is one page.
  const rowHeight = Math.max(15, Math.min(31, Math.floor(190 / Math.max(1, probes.length))));
  const bottom = top + probes.length * rowHeight;
  const widest = (size: number): number => Math.max(0, ...probes.map(({ label: text }) => boldWidth(text, size)));
  const labelSize = rowHeight >= 28 && widest(14) <= mostLeft - labelLeft - labelGap ? 14 : 12;
  const left = Math.ceil(Math.min(mostLeft, Math.max(leastLeft, labelLeft + widest(labelSize) + labelGap)));
  const axis = axisOf(assessment, requirementPercent, left);
  const shapes: Shape[] = [];
  for (const tick of axis.ticks) {
    const x = axis.place(tick);
    shapes.push(line(x, top, x, bottom, { stroke: ink.line, width: 1 }));
    shapes.push(label(x, bottom + 16, `${significant(tick, 1)}${nbsp}%`, 'middle'));
  }
  if (requirementPercent !== null) shapes.push(...requirement(axis, requirementPercent, bottom));
  shapes.push(label(pageWidth, top - 9, reportWords.figure.mean, 'end'));
  probes.forEach((port, index) => {
    const cells = assessment.cells.filter((cell) => cell.probe === port.probe);
    const mean = assessment.probes.find((one) => one.probe === port.probe)?.windowPercent ?? null;
    const row = { axis, left, labelSize, middle: top + (index + 0.5) * rowHeight, height: rowHeight };
    if (index > 0) {
      const y = top + index * rowHeight;
      shapes.push(line(0, y, pageWidth, y, { stroke: ink.line, width: 0.75 }));
    }
    shapes.push(...rowShapes(port, cells, mean, row));
  });
  return {
    id: 'figure-result',
    width: pageWidth,
    height: bottom + 24,
    title: reportWords.figure.resultTitle,
    description: inWords(assessment, probes, requirementPercent),
    shapes,
  };
}

interface Row {
  readonly axis: LogAxis;
  /** Where the axis begins, px. */
  readonly left: number;
  readonly labelSize: number;
  readonly middle: number;
  readonly height: number;
}

function axisOf(assessment: Assessment, requirementPercent: number | null, left: number): LogAxis {
  const shown: number[] = requirementPercent === null ? [] : [requirementPercent];
  for (const { windowPercent, detectionLimitPercent } of assessment.cells) {
    // Room to the left of the limit, so that what lies below it has a place to stand.
    if (detectionLimitPercent !== null && windowPercent !== null && windowPercent < detectionLimitPercent) {
      shown.push(detectionLimitPercent / 3, detectionLimitPercent);
    } else if (windowPercent !== null) shown.push(windowPercent / 1.15, windowPercent * 1.15);
  }
  return logAxis(shown, left, axisRight);
}

function requirement(axis: LogAxis, percent: number, bottom: number): Shape[] {
  const x = axis.place(percent);
  const room = axisRight - x;
  const text = reportWords.figure.aboveRequirement;
  const fits = roughWidth(text, 12) <= pageWidth - 60 - x;
  return [
    ...(room > 2 ? [hatch(x, top, room, bottom - top, 7, { stroke: ink.line, width: 0.9 })] : []),
    line(x, top, x, bottom, { stroke: ink.ink, width: 2 }),
    {
      shape: 'text',
      x: fits ? x + 5 : x - 5,
      y: top - 9,
      text: fits ? text : reportWords.figure.requirement(percentShort(percent)),
      size: 12,
      anchor: fits ? 'start' : 'end',
      bold: true,
      colour: ink.ink,
    },
  ];
}

function rowShapes(port: Port, cells: readonly Cell[], mean: number | null, row: Row): Shape[] {
  const { axis, labelSize: size, left, middle, height } = row;
  const shapes: Shape[] = [];
  const limits = cells.map((cell) => cell.detectionLimitPercent).filter((limit) => limit !== null);
  const band = limits.length === 0 ? axis.low : Math.max(...limits);
  if (band > axis.low) {
    const right = Math.min(axisRight, axis.place(band));
    shapes.push(dots(left, middle - height / 2 + 3, right - left, height - 6, { fill: ink.edge }));
    const edge = { stroke: ink.edge, width: 1.2, dash: '1.5 2.5' };
    shapes.push(line(right, middle - height / 2 + 2, right, middle + height / 2 - 2, edge));
  }
  shapes.push(probeMark(port.probe, 9, middle, 15));
  const lines = linesOfBold(port.label, size, left - labelLeft - labelGap, height >= 28 ? 2 : 1);
  lines.forEach((text, index) => {
    const y = middle + 5 + (index - (lines.length - 1) / 2) * size;
    shapes.push({ shape: 'text', x: labelLeft, y, text, size, anchor: 'start', bold: true, colour: ink.ink });
  });
  if (mean !== null && mean >= axis.low && mean <= axis.high) {
    const x = axis.place(mean);
    shapes.push(line(x, middle - height / 2 + 4, x, middle + height / 2 - 4, { stroke: ink.ink, width: 3.5 }));
  }
  const placed: { x: number; y: number }[] = [];
  let missing = 0;
  let below = 0;
  for (const cell of cells) {
    if (cell.windowPercent === null) {
      missing += 1;
      continue;
    }
    const limit = cell.detectionLimitPercent;
    if (limit !== null && cell.windowPercent < limit) {
      // Inside the band position means nothing: side by side, from its edge to the low side.
      const x = axis.place(limit) - 9 - below * 11;
      below += 1;
      if (x > left + 8) shapes.push(...belowLimit(x, middle, cell.flagged));
      continue;
    }
    if (cell.windowPercent < axis.low) {
      // Not above zero, and no limit is known: it has no place on a log axis, and stands at its low end.
      shapes.push(...belowLimit(left + 10 + below * 11, middle, cell.flagged));
      below += 1;
      continue;
    }
    const x = axis.place(cell.windowPercent);
    const y = freePlace(placed, x, middle, height);
    placed.push({ x, y });
    shapes.push(dot(x, y, cell.flagged));
  }
  // Below the mean; a row that is too low for both leaves it to the words beside the figure.
  const note = missing > 0 && height >= 28 ? reportWords.figure.missing(missing) : null;
  shapes.push({
    shape: 'text',
    x: pageWidth,
    y: middle + (note === null ? 5 : 0),
    text: mean === null ? '–' : percentShort(mean),
    size: 14,
    anchor: 'end',
    bold: true,
    colour: ink.ink,
  });
  if (note !== null) shapes.push(label(pageWidth, middle + 13, note, 'end'));
  return shapes;
}

function dot(x: number, y: number, hollow: boolean): Shape {
  const fill = hollow ? ink.page : ink.ink;
  return { shape: 'circle', x, y, r: radius, paint: { fill, stroke: ink.ink, width: 1.4 } };
}

function belowLimit(x: number, y: number, hollow: boolean): Shape[] {
  const arrow = `M${x - 8} ${y}L${x - 3} ${y - 3.5}V${y + 3.5}Z`;
  return [
    { shape: 'path', d: arrow.replace(/\d+\.\d+/g, (text) => Number(text).toFixed(2)), paint: { fill: ink.ink } },
    dot(x + 1, y, hollow),
  ];
}

/** The middle of the row, or the nearest place above or below it that no dot stands in. */
function freePlace(placed: readonly { x: number; y: number }[], x: number, middle: number, height: number): number {
  const most = height / 2 - radius - 2;
  for (let step = 0; step <= most; step += 3) {
    for (const y of step === 0 ? [middle] : [middle - step, middle + step]) {
      if (placed.every((other) => Math.hypot(other.x - x, other.y - y) >= radius * 2 + 0.8)) return y;
    }
  }
  return middle;
}

function label(x: number, y: number, text: string, anchor: 'start' | 'middle' | 'end'): Shape {
  return { shape: 'text', x, y, text, size: 11.5, anchor, colour: ink.ink2 };
}

function inWords(assessment: Assessment, probes: readonly Port[], requirementPercent: number | null): string {
  const rows = probes.map(({ probe, label: name }) => {
    const mean = assessment.probes.find((one) => one.probe === probe);
    const value = mean?.windowPercent == null ? reportWords.noResult : percentShort(mean.windowPercent);
    return `${name}: ${value}`;
  });
  const allowed = requirementPercent === null ? '' : ` ${reportWords.figure.allowed(percentShort(requirementPercent))}`;
  const count = counted(assessment.cells.length, 'value', 'values');
  return `${reportWords.figure.resultDescription(count)} ${rows.join('; ')}.${allowed}`;
}
