import type { BlankScatter } from '../../calibration/blank-scatter.ts';
import { solePort } from '../../model/rig.ts';
import type { Stated } from '../../model/rig.ts';
import { toSeconds } from '../../model/time.ts';
import { weighted } from '../anchors.ts';
import type { AnchoredValue } from '../anchors.ts';
import { meanOf, singleReadingNoise } from '../dwell-reading.ts';
import type { Piece, ReadDwell, ReadingContext } from '../dwell-reading.ts';
import { fewestWindowReadings, lengthOfMean } from '../lag.ts';
import { keptSpans } from '../left-out.ts';
import type { HeldWindow } from '../part-doubts.ts';
import type { BudgetLineName } from './line.ts';
import { driftBetween, probeStretch, wanderBetween } from './scatter.ts';
import type { TrialScatter } from './scatter.ts';

/** An input of a trial and how doubtful it is. */
interface Doubtful {
  /** What it is, the same in every result that rests on it: `reading 12`, `dilution 5`, `spatial-factor`. */
  readonly input: string;
  readonly line: BudgetLineName;
  /** Of the input, in its own unit. */
  readonly standardUncertainty: number;
}

/** Change of a reading for one unit of an input. */
export interface ReadingTerm extends Doubtful {
  readonly coefficient: number;
}

/** A factor of the leakage, to the power of 1 or −1. */
export interface FactorTerm extends Doubtful {
  readonly value: number;
  readonly power: 1 | -1;
}

/**
 * The leakage of one window as a function of the errors x of its inputs:
 *
 *     IL(x) = (net + Σ above·x) · scale · spanNet/(spanNet + Σ below·x) · Π (1 + x/value)^power
 *
 * net is (R − Z) − B and spanNet S − Z, as readings; scale is percent for one unit of net reading.
 */
export interface PartModel {
  readonly net: number;
  readonly spanNet: number;
  readonly scale: number;
  readonly above: readonly ReadingTerm[];
  readonly below: readonly ReadingTerm[];
  readonly factors: readonly FactorTerm[];
}

/** A window with everything that its leakage needs. */
interface WholeWindow {
  readonly dwell: ReadDwell;
  readonly zero: AnchoredValue;
  readonly span: AnchoredValue;
  readonly background: HeldWindow['background'];
  readonly backgroundShare: number;
  readonly breathing: HeldWindow['breathing'];
  readonly net: number;
  readonly spanNet: number;
  readonly scale: number;
}

/** What a window's leakage is made of; null where it has none. Lines without known scatter are left out. */
export function partModel(
  context: ReadingContext,
  blank: BlankScatter | null,
  scatter: TrialScatter,
  held: HeldWindow,
): PartModel | null {
  const { background, backgroundShare, breathing, dwell, net, scale, span, spanNet, zero } = held;
  if (zero === null || span === null || net === null || spanNet === null || scale === null) return null;
  const window: WholeWindow = {
    ...{ dwell, zero, span, background, backgroundShare, breathing },
    ...{ net, spanNet, scale },
  };
  const noise = blank === null ? nothing : noises(context, blank, scatter.shotVariance, window);
  const drift = drifts(scatter, window);
  const wander = wanders(context, scatter, window);
  const time = timing(context, window);
  return {
    net,
    spanNet,
    scale,
    above: [...noise.above, ...drift.above, ...time.above, ...breathOfBackground(window)],
    below: [...noise.below, ...drift.below, ...wander, ...time.below],
    factors: [...certificates(context, dwell), ...breathOfWindow(window)],
  };
}

/** Terms of the net reading and of the span. */
interface Terms {
  readonly above: readonly ReadingTerm[];
  readonly below: readonly ReadingTerm[];
}
const nothing: Terms = { above: [], below: [] };

function noises(context: ReadingContext, blank: BlankScatter, shotVariance: number, window: WholeWindow): Terms {
  const { background, backgroundShare: share, dwell, net, span, spanNet, zero } = window;
  const single = singleReadingNoise(blank, context.readings.resolution) ** 2 * blank.autocorrelationSum;
  const noise = (
    line: BudgetLineName,
    { mean, recorded }: ReadDwell,
    level: number,
    coefficient: number,
  ): ReadingTerm => ({
    input: `reading ${recorded.dwell.dwell}`,
    line,
    standardUncertainty: Math.sqrt((single + shotVariance * Math.max(0, level)) * mean.squaredWeights),
    coefficient,
  });
  const anchors = (line: BudgetLineName, value: AnchoredValue, level: number, coefficient: number): ReadingTerm[] => {
    const shares = weighted(value, () => coefficient);
    return [
      ...(value.before === null ? [] : [noise(line, value.before, level, shares.before)]),
      ...(value.after === null ? [] : [noise(line, value.after, level, shares.after)]),
    ];
  };
  return {
    above: [
      noise('window-noise', dwell, net + share * (background?.netReading ?? 0), 1),
      ...anchors('zero-noise', zero, 0, -1),
      ...(background === null
        ? []
        : [
            noise('background-noise', background.dwell, background.netReading, -share),
            ...anchors('zero-noise', background.zero, 0, share),
          ]),
    ],
    below: [...anchors('reference-noise', span, spanNet, 1), ...anchors('zero-noise', zero, 0, -1)],
  };
}

/** The zero between its two dwells: one error for each gap between zeros, whichever windows lie in it. */
function drifts({ zeroDrift }: TrialScatter, { background, backgroundShare, zero }: WholeWindow): Terms {
  if (zeroDrift === null) return nothing;
  const drift = (value: AnchoredValue, coefficient: number): ReadingTerm[] => {
    const { afterAtMicroseconds, beforeAtMicroseconds, shown } = value;
    if (beforeAtMicroseconds === null || afterAtMicroseconds === null) return [];
    const gapSeconds = toSeconds(afterAtMicroseconds - beforeAtMicroseconds);
    // In units of the drift in the middle of the gap, so that windows of one gap share its error.
    const whole = driftBetween(zeroDrift, gapSeconds, 0.5);
    if (whole === 0) return [];
    return [
      {
        input: `zero drift ${shown.beforeDwell ?? ''}-${shown.afterDwell ?? ''}`,
        line: 'zero-drift',
        standardUncertainty: whole,
        coefficient: (coefficient * driftBetween(zeroDrift, gapSeconds, shown.weightAfter)) / whole,
      },
    ];
  };
  return {
    above: [...drift(zero, -1), ...(background === null ? [] : drift(background.zero, backgroundShare))],
    below: drift(zero, -1),
  };
}

/** The challenge between two references: one error for each gap, which windows close to each other share. */
function wanders(context: ReadingContext, { challenge }: TrialScatter, window: WholeWindow): ReadingTerm[] {
  const { dwell, span, spanNet } = window;
  // In units of the wander as a whole: windows of one gap lie differently in it and still share its error.
  const sigma = challenge?.wanders[0]?.relativeStandard ?? 0;
  if (challenge === null || sigma === 0) return [];
  const stretch = (of: ReadDwell | null) => (of === null ? null : probeStretch(context, of));
  const here = wanderBetween(
    challenge,
    probeStretch(context, dwell),
    stretch(span.before),
    stretch(span.after),
    span.shown.weightAfter,
  );
  return [
    {
      input: `challenge ${span.shown.beforeDwell ?? ''}-${span.shown.afterDwell ?? ''}`,
      line: 'challenge',
      standardUncertainty: sigma,
      coefficient: (spanNet * here) / sigma,
    },
  ];
}

/** Values that the rig states: the leakage is proportional to each or to its inverse. */
function certificates({ linearity, method, rig }: ReadingContext, { port }: ReadDwell): FactorTerm[] {
  const reference = solePort(rig, 'reference');
  const factor = (line: BudgetLineName, input: string, stated: Stated, power: 1 | -1): FactorTerm => ({
    input,
    line,
    standardUncertainty: stated.standardUncertainty,
    value: stated.value,
    power,
  });
  return [
    ...(method.applyDilution
      ? [
          factor('dilution', `dilution ${port.port}`, port.dilution, 1),
          factor('dilution', `dilution ${reference.port}`, reference.dilution, -1),
        ]
      : []),
    ...(method.applyPenetration
      ? [
          factor('line-loss', `penetration ${port.port}`, port.penetration, -1),
          factor('line-loss', `penetration ${reference.port}`, reference.penetration, 1),
        ]
      : []),
    ...(method.applySpatialFactor ? [factor('spatial-factor', 'spatial-factor', rig.spatialFactor, -1)] : []),
    ...(linearity === undefined ? [] : [factor('linearity', 'linearity', linearity, -1)]),
  ];
}

/** For a probe in the breathing zone, how well the times of breath are known: of the window … */
function breathOfWindow({ breathing, dwell }: WholeWindow): FactorTerm[] {
  if (breathing === null) return [];
  const { factor, factorUncertainty } = breathing.window;
  const input = `breath ${dwell.recorded.dwell.dwell}`;
  return [{ input, line: 'breathing', standardUncertainty: factorUncertainty, value: factor, power: 1 }];
}

/** … and of the background, as a reading for one of its factor. */
function breathOfBackground({ background, backgroundShare, breathing }: WholeWindow): ReadingTerm[] {
  if (background === null || breathing === null || breathing.background === null) return [];
  const { factor, factorUncertainty } = breathing.background;
  const coefficient = (-backgroundShare * background.netReading) / factor;
  const input = `breath ${background.dwell.recorded.dwell.dwell}`;
  return [{ input, line: 'breathing', standardUncertainty: factorUncertainty, coefficient }];
}

/** The photometer's lag and the ways of the air. */
function timing(context: ReadingContext, window: WholeWindow): Terms {
  const { background, backgroundShare, dwell, span, zero } = window;
  const { rig } = context;
  const both = (value: AnchoredValue): number => {
    const { after, before } = weighted(value, lagSlope);
    return before + after;
  };
  // d(corrected)/d(tau) is exact: corrected = mean + tau · (y_end − y_start)/W.
  const ofBackground = background === null ? 0 : backgroundShare * (lagSlope(background.dwell) - both(background.zero));
  const tau = (coefficient: number): ReadingTerm => ({
    input: 'time-constant',
    line: 'time-constant',
    standardUncertainty: rig.timeConstantSeconds.standardUncertainty,
    coefficient,
  });
  const later = shiftSlope(context, dwell);
  const transits = [
    ['transit common', rig.commonTransitSeconds],
    ['transit instrument', rig.instrumentDelaySeconds],
    [`transit ${dwell.port.port}`, dwell.port.transitSeconds],
  ] as const;
  return {
    above: [
      tau(lagSlope(dwell) - both(zero) - ofBackground),
      ...transits.map(
        ([input, { standardUncertainty }]): ReadingTerm => ({
          input,
          line: 'transit',
          standardUncertainty,
          coefficient: later,
        }),
      ),
    ],
    below: [tau(both(span) - both(zero))],
  };
}

/** (y_end − y_start)/W, reading/s; 0 where the method does not correct the lag. */
function lagSlope({ mean }: ReadDwell): number {
  const { endMean, lagSeconds, startMean } = mean;
  return endMean === null || startMean === null || lagSeconds === null || lagSeconds === 0
    ? 0
    : (endMean - startMean) / lagSeconds;
}

/**
 * Change of a window's mean for one second of a later window, reading/s: the window is moved by the uncertainty of
 * the transit, at least one reading, to either side, and read again. A slope of the smoothed trace would be too small.
 */
function shiftSlope(context: ReadingContext, { pieces, port, span }: ReadDwell): number {
  const { readings, rig } = context;
  const { intervalMicroseconds } = readings;
  if (!(intervalMicroseconds > 0)) return 0;
  const standard = Math.hypot(
    rig.commonTransitSeconds.standardUncertainty,
    rig.instrumentDelaySeconds.standardUncertainty,
    port.transitSeconds.standardUncertainty,
  );
  const wanted = Math.max(1, Math.round((standard * 1e6) / intervalMicroseconds));
  const around = { first: Math.max(0, span.first - wanted), end: Math.min(readings.values.length, span.end + wanted) };
  if (keptSpans(context, port, around)[0] !== around) return slopeWithin(context, pieces, wanted);
  const moved = (by: number) => ({ first: span.first + by, end: span.end + by });
  const early = Math.min(wanted, span.first);
  const late = Math.min(wanted, readings.values.length - span.end);
  if (early + late === 0) return 0;
  const difference = meanOf(context, moved(late)).corrected - meanOf(context, moved(-early)).corrected;
  return difference / toSeconds((early + late) * intervalMicroseconds);
}

/**
 * The same without a look at what is left out: two stretches of each piece, one at its beginning and one at its end,
 * as far from each other as the pieces would be moved.
 */
function slopeWithin(context: ReadingContext, pieces: readonly Piece[], wanted: number): number {
  const { intervalMicroseconds } = context.readings;
  let length = 0;
  let slope = 0;
  for (const { end, first, mean } of pieces) {
    const by = Math.min(2 * wanted, end - first - fewestWindowReadings);
    const weight = lengthOfMean(mean);
    length += weight;
    if (by < 1) continue;
    const early = meanOf(context, { first, end: end - by }).corrected;
    const late = meanOf(context, { first: first + by, end }).corrected;
    slope += (weight * (late - early)) / toSeconds(by * intervalMicroseconds);
  }
  return length > 0 ? slope / length : 0;
}
