import type { StudyView } from '../../src/bridge/study.ts';

type RosterRow = StudyView['summary']['roster'][number];

/** Where everything of the study picture lies, in CSS pixels: pure, so that a thousand trials are one pass. */
export interface StudyPlot {
  readonly width: number;
  readonly height: number;
  /** Ends of the leakage axis. */
  readonly left: number;
  readonly right: number;
  /** Top and foot of what is drawn over the axis. */
  readonly top: number;
  readonly foot: number;
  readonly ticks: readonly Tick[];
  readonly bands: readonly PlotBand[];
  /** Limits that plans ask for, over the whole-trial band. */
  readonly limits: readonly { readonly x: number; readonly percent: number }[];
  /** Null with one ensemble. */
  readonly ratios: RatioAxis | null;
  /** All points, for finding the one under the pointer. */
  readonly points: readonly PlotPoint[];
  /** Names of ensembles are too long for the bands of the probes: numbers stand for them. */
  readonly numbered: boolean;
}

export interface Tick {
  readonly x: number;
  readonly value: number;
  readonly labelled: boolean;
}

export interface PlotBand {
  readonly probe: string | null;
  readonly top: number;
  readonly foot: number;
  readonly rows: readonly PlotRow[];
  /** Right end of what lies below the detection limit; null where none is known. */
  readonly limitX: number | null;
  /** From each subject's point in one ensemble to the one in the next; `d` of a path. */
  readonly subjectLines: string;
}

export interface PlotRow {
  readonly ensemble: string;
  readonly y: number;
  readonly points: readonly PlotPoint[];
  /** Trials that a what-if leaves out. */
  readonly takenOut: readonly PlotPoint[];
  /** Where the geometric mean stands without the what-if; null where there is none, or none is asked. */
  readonly standingX: number | null;
  readonly below: number;
  readonly mean: {
    readonly percent: number;
    readonly x: number;
    readonly low: number;
    readonly high: number;
    readonly y: number;
  } | null;
}

export interface PlotPoint {
  readonly trial: string;
  readonly subject: string;
  readonly x: number;
  readonly y: number;
  readonly below: boolean;
}

export interface RatioAxis {
  readonly left: number;
  readonly right: number;
  readonly oneX: number;
  readonly ticks: readonly Tick[];
  readonly rows: readonly RatioMark[];
  /** Right end of the words. */
  readonly wordsX: number;
  /** Ratio and interval beside each other, where several stand below each other. */
  readonly oneLine: boolean;
}

export interface RatioMark {
  readonly probe: string | null;
  readonly y: number;
  readonly upper: string;
  readonly lower: string;
  /** Of the study as it stands, beside a what-if. */
  readonly standingX: number | null;
  /** Null where there is no ratio. */
  readonly shown: {
    readonly x: number;
    readonly low: number;
    readonly high: number;
    readonly ratio: number;
    readonly lowRatio: number;
    readonly highRatio: number;
  } | null;
}

const headHeight = 50;
const footHeight = 46;
const wholeRow = 60;
const probeRow = 24;

/** @param standing the study as it stands, where `view` is a what-if; null: nothing is asked. */
export function studyPlot(view: StudyView, width: number, standing: StudyView | null = null): StudyPlot {
  const { scopes, ensembles, roster, shares } = view.summary;
  const counted = roster.filter(({ leftOut }) => leftOut === null);
  const compared = ensembles.length > 1;
  const left = width < 700 ? 150 : 190;
  const ratioWidth = !compared ? 0 : width < 820 ? 110 : Math.min(360, 0.33 * width);
  const right = width - ratioWidth - (compared ? 24 : 40);
  const limits = [...new Set(shares.map(({ limitPercent }) => limitPercent))];
  const range = leakageRange(standing === null ? [view] : [view, standing], limits);
  const xOf = (percent: number): number => left + logShare(percent, range) * (right - left);

  let top = headHeight;
  const bands = scopes.map(({ probe, ensembles: figures, detectionLimitPercent }): PlotBand => {
    const step = probe === null ? wholeRow : probeRow;
    const bandTop = top;
    const foot = bandTop + Math.max(1, figures.length) * step + (probe === null ? 44 : 17);
    top = foot;
    const rows = figures.map(({ ensemble, summary }, index): PlotRow => {
      const y = bandTop + (probe === null ? 22 : 10) + (index + 0.5) * step;
      const own = counted.filter((row) => row.ensemble === ensemble);
      const spread = own.length > 24 ? (probe === null ? 22 : 14) : 0;
      const marked = (row: RosterRow, order: number): PlotPoint[] => {
        const leakage = probe === null ? row.whole : (row.probes[probe] ?? null);
        if (leakage === null) return [];
        // Beside its limit: in the dotted band a place means nothing.
        const x = leakage.below ? Math.max(left + 12, xOf(leakage.percent) - 14) : xOf(leakage.percent);
        const { trial, subject } = row;
        // Many points are spread about their line, by the golden section: evenly, and the same every time.
        return [{ trial, subject, x, y: y + spread * (((order * 0.618034) % 1) - 0.5), below: leakage.below }];
      };
      const points = own.flatMap(marked);
      const takenOut = roster.filter((row) => row.ensemble === ensemble && row.leftOut === 'what-if').flatMap(marked);
      const standingMean = meanOf(standing, probe, ensemble);
      const barY = probe !== null ? y : index === figures.length - 1 ? y + 26 : y - 26;
      return {
        ensemble,
        y,
        points,
        takenOut,
        standingX: standingMean === null ? null : xOf(standingMean),
        below: points.filter(({ below }) => below).length,
        mean: !summary.known
          ? null
          : {
              percent: summary.figure.geometricMean,
              x: xOf(summary.figure.geometricMean),
              low: Math.max(left, xOf(summary.figure.geometricMeanLow)),
              high: Math.min(right, xOf(summary.figure.geometricMeanHigh)),
              y: barY,
            },
      };
    });
    const limitX = detectionLimitPercent === null ? null : xOf(detectionLimitPercent);
    return { probe, top: bandTop, foot, rows, limitX, subjectLines: probe === null ? subjectLines(rows) : '' };
  });
  const foot = top;
  return {
    width,
    height: foot + footHeight,
    left,
    right,
    top: headHeight,
    foot,
    ticks: logTicks(range, xOf),
    bands,
    limits: limits.map((percent) => ({ percent, x: xOf(percent) })),
    ratios: compared ? ratioAxis({ view, standing }, bands, right + 40, width) : null,
    numbered: ensembles.some((ensemble) => ensemble.length > 4),
    points: bands.flatMap(({ rows }) => rows.flatMap(({ points, takenOut }) => [...points, ...takenOut])),
  };
}

/** The point nearest to a place, not farther than it can be meant; null where there is none. */
export function pointAt(plot: StudyPlot, x: number, y: number, reach = 14): PlotPoint | null {
  let nearest: PlotPoint | null = null;
  let distance = reach;
  for (const point of plot.points) {
    const there = Math.hypot(point.x - x, point.y - y);
    if (there > distance) continue;
    nearest = point;
    distance = there;
  }
  return nearest;
}

type Range = readonly [low: number, high: number];

function logShare(value: number, [low, high]: Range): number {
  return Math.log(value / low) / Math.log(high / low);
}

/** From below the detection limits to above everything that is drawn. */
function leakageRange(views: readonly StudyView[], limits: readonly number[]): Range {
  let low = Infinity;
  let high = 0;
  const take = (value: number): void => {
    low = Math.min(low, value);
    high = Math.max(high, value);
  };
  for (const limit of limits) take(limit);
  for (const row of views.flatMap(({ summary }) => summary.roster)) {
    if (row.leftOut !== null && row.leftOut !== 'what-if') continue;
    for (const leakage of [row.whole, ...Object.values(row.probes)]) if (leakage !== null) take(leakage.percent);
  }
  for (const { detectionLimitPercent: limit } of views.flatMap(({ summary }) => summary.scopes)) {
    if (limit !== null) take(limit);
  }
  if (high === 0) return [0.01, 10];
  return [low / 2, Math.max(high * 1.5, low * 10)];
}

/** 1, 3, 5 and 2 of every decade, in this order, are labelled as far as they have room. */
function logTicks([low, high]: Range, xOf: (value: number) => number): Tick[] {
  const ticks: { readonly x: number; readonly value: number; labelled: boolean }[] = [];
  const room = 46;
  for (const digit of [1, 3, 5, 2]) {
    for (let power = Math.floor(Math.log10(low)); power <= Math.ceil(Math.log10(high)); power += 1) {
      const value = Number((digit * 10 ** power).toPrecision(3));
      if (value < low || value > high) continue;
      const x = xOf(value);
      ticks.push({ x, value, labelled: ticks.every((one) => !one.labelled || Math.abs(one.x - x) >= room) });
    }
  }
  return ticks;
}

function subjectLines(rows: readonly PlotRow[]): string {
  return rows
    .slice(1)
    .map((row, index) => {
      const before = new Map((rows[index] as PlotRow).points.map((point) => [point.subject, point]));
      return row.points
        .map((point) => {
          const from = before.get(point.subject);
          return from === undefined ? '' : `M${px(from.x)} ${px(from.y)}L${px(point.x)} ${px(point.y)}`;
        })
        .join('');
    })
    .join('');
}

/** Ratios to the first ensemble, one below the other where there are several. */
function ratioAxis(
  { view, standing }: { readonly view: StudyView; readonly standing: StudyView | null },
  bands: readonly PlotBand[],
  left: number,
  width: number,
): RatioAxis {
  const { scopes, ensembles } = view.summary;
  const [first = ''] = ensembles;
  const wordsX = width - 12;
  const oneLine = ensembles.length > 2;
  const right = wordsX - (oneLine ? 170 : 104);
  const own = scopes.map(({ probe, ratios }) => ({ probe, ratios: ratios.filter(({ lower }) => lower === first) }));
  let [low, high] = [0.8, 1.25];
  const stood = (standing?.summary.scopes ?? []).flatMap(({ ratios }) => ratios);
  const before = stood.filter(({ lower }) => lower === first);
  for (const { ratio } of [...own.flatMap(({ ratios }) => ratios), ...before]) {
    if (!ratio.known) continue;
    low = Math.min(low, ratio.figure.low / 1.3);
    high = Math.max(high, ratio.figure.high * 1.3);
  }
  const range: Range = [Math.max(low, 1e-3), Math.min(high, 1e3)];
  const xOf = (value: number): number =>
    Math.min(right, Math.max(left, left + logShare(value, range) * (right - left)));
  return {
    left,
    right,
    oneX: xOf(1),
    ticks: logTicks(range, xOf),
    wordsX,
    oneLine,
    rows: own.flatMap(({ probe, ratios }, index) => {
      const band = bands[index] as PlotBand;
      return ratios.map(({ lower, upper, ratio }): RatioMark => {
        const row = band.rows.find(({ ensemble }) => ensemble === upper);
        const y = ratios.length === 1 || row === undefined ? (band.top + band.foot) / 2 : row.y;
        const { ratio: shown, low: lowRatio, high: highRatio } = ratio.known ? ratio.figure : nothing;
        const asItStands = standing?.summary.scopes
          .find((scope) => scope.probe === probe)
          ?.ratios.find((one) => one.lower === lower && one.upper === upper)?.ratio;
        return {
          ...{ probe, y, lower, upper },
          standingX: asItStands?.known === true ? xOf(asItStands.figure.ratio) : null,
          shown: ratio.known
            ? { x: xOf(shown), low: xOf(lowRatio), high: xOf(highRatio), ratio: shown, lowRatio, highRatio }
            : null,
        };
      });
    }),
  };
}

const nothing = { ratio: 1, low: 1, high: 1 };

function meanOf(view: StudyView | null, probe: string | null, ensemble: string): number | null {
  const scope = view?.summary.scopes.find((one) => one.probe === probe);
  const summary = scope?.ensembles.find((one) => one.ensemble === ensemble)?.summary;
  return summary?.known === true ? summary.figure.geometricMean : null;
}

/** A coordinate as it is written into a path. */
export function px(value: number): string {
  return value.toFixed(1);
}
