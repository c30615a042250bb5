import type { BlankScatter } from '../../calibration/blank-scatter.ts';
import { solePort } from '../../model/rig.ts';
import type { Stated } from '../../model/rig.ts';
import { toSeconds } from '../../model/time.ts';
import { weighted } from '../anchors.ts';
import type { AnchoredValue } from '../anchors.ts';
import { meanOf, singleReadingNoise } from '../dwell-reading.ts';
import type { ReadDwell, ReadingContext } from '../dwell-reading.ts';
import type { HeldWindow } from '../part-doubts.ts';
import { gatherContributions } from './contribution.ts';
import type { Contribution, Contributions } from './contribution.ts';
import type { BudgetGap, BudgetLineName } from './line.ts';
import { driftBetween, probeStretch, wanderBetween } from './scatter.ts';
import type { TrialScatter } from './scatter.ts';

/** The doubt of one window, by input, and what it lacks. */
export interface PartBudget {
  readonly contributions: Contributions;
  readonly gaps: readonly BudgetGap[];
}

/** A window with everything that its leakage needs. */
interface WholeWindow {
  readonly dwell: ReadDwell;
  readonly zero: AnchoredValue;
  readonly span: AnchoredValue;
  readonly background: HeldWindow['background'];
  readonly factors: HeldWindow['factors'];
  readonly net: number;
  readonly spanNet: number;
  /** Percent for one unit of net reading. */
  readonly scale: number;
}

/**
 * First-order propagation of IL = N · A/(S − Z), N = R − Z − B, B = R_b − Z_b, A from dilution, line losses and
 * spatial factor (JCGM 100:2008, 5.1.2), written by input so that windows which share an input share its error.
 * @returns null where the window has no leakage, and so no doubt about one.
 */
export function partBudget(
  context: ReadingContext,
  blank: BlankScatter | null,
  scatter: TrialScatter,
  held: HeldWindow,
): PartBudget | null {
  const { zero, span, net, spanNet, scale } = held;
  if (zero === null || span === null || net === null || spanNet === null || scale === null) return null;
  const gaps: BudgetGap[] = [];
  if (blank === null) gaps.push('noise');
  if (scatter.challenge === null) gaps.push('challenge');
  if (scatter.zeroDrift === null) gaps.push('zero-drift');
  const window: WholeWindow = { ...held, zero, span, net, spanNet, scale };
  return {
    contributions: gatherContributions([
      ...(blank === null ? [] : noises(context, blank, scatter.shotVariance, window)),
      ...drifts(scatter, window),
      ...wander(context, scatter, window),
      ...certificates(context, window),
      ...timing(context, window),
    ]),
    gaps,
  };
}

/** Change of the leakage, percent, for one unit of reading: of zero Z (in N and in S − Z), and of S. */
function sensitivities({ net, scale, spanNet }: WholeWindow): { readonly ofZero: number; readonly ofSpan: number } {
  const leakage = net * scale;
  return { ofZero: leakage / spanNet - scale, ofSpan: -leakage / spanNet };
}

function noises(
  context: ReadingContext,
  blank: BlankScatter,
  shotVariance: number,
  window: WholeWindow,
): Contribution[] {
  const { background, dwell, net, scale, span, spanNet, zero } = window;
  const { ofSpan, ofZero } = sensitivities(window);
  const single = singleReadingNoise(blank, context.readings.resolution) ** 2 * blank.autocorrelationSum;
  const noise = (
    line: BudgetLineName,
    { mean, recorded }: ReadDwell,
    level: number,
    sensitivity: number,
  ): Contribution => ({
    input: `reading ${recorded.dwell.dwell}`,
    line,
    standardUncertainty: Math.sqrt((single + shotVariance * Math.max(0, level)) * mean.squaredWeights),
    sensitivity,
  });
  const anchors = (line: BudgetLineName, value: AnchoredValue, level: number, sensitivity: number): Contribution[] => {
    const shares = weighted(value, () => sensitivity);
    return [
      ...(value.before === null ? [] : [noise(line, value.before, level, shares.before)]),
      ...(value.after === null ? [] : [noise(line, value.after, level, shares.after)]),
    ];
  };
  return [
    noise('window-noise', dwell, net + (background?.netReading ?? 0), scale),
    ...anchors('zero-noise', zero, 0, ofZero),
    ...anchors('reference-noise', span, spanNet, ofSpan),
    ...(background === null
      ? []
      : [
          noise('background-noise', background.dwell, background.netReading, -scale),
          ...anchors('zero-noise', background.zero, 0, scale),
        ]),
  ];
}

/** The zero between its two dwells: one error for each gap between zeros, whichever windows lie in it. */
function drifts({ zeroDrift }: TrialScatter, window: WholeWindow): Contribution[] {
  if (zeroDrift === null) return [];
  const drift = (value: AnchoredValue, sensitivity: number): Contribution[] => {
    const { afterAtMicroseconds, beforeAtMicroseconds, shown } = value;
    if (beforeAtMicroseconds === null || afterAtMicroseconds === null) return [];
    const gapSeconds = toSeconds(afterAtMicroseconds - beforeAtMicroseconds);
    const whole = driftBetween(zeroDrift, gapSeconds, 0.5);
    if (whole === 0) return [];
    const here = driftBetween(zeroDrift, gapSeconds, shown.weightAfter);
    return [
      {
        input: `zero drift ${shown.beforeDwell ?? ''}-${shown.afterDwell ?? ''}`,
        line: 'zero-drift',
        standardUncertainty: whole,
        sensitivity: (sensitivity * here) / whole,
      },
    ];
  };
  const { background, scale, zero } = window;
  return [
    ...drift(zero, sensitivities(window).ofZero),
    ...(background === null ? [] : drift(background.zero, scale)),
  ];
}

/** The challenge between two references: one error for each gap, which windows close to each other share. */
function wander(context: ReadingContext, { challenge }: TrialScatter, window: WholeWindow): Contribution[] {
  if (challenge === null) return [];
  const { dwell, net, scale, span } = window;
  const stretch = (of: ReadDwell | null) => (of === null ? null : probeStretch(context, of));
  const { weightAfter } = span.shown;
  // In units of the wander as a whole: windows of one gap lie differently in it and still share its error.
  const sigma = challenge.wanders[0]?.relativeStandard ?? 0;
  if (sigma === 0) return [];
  const here = wanderBetween(
    challenge,
    probeStretch(context, dwell),
    stretch(span.before),
    stretch(span.after),
    weightAfter,
  );
  return [
    {
      input: `challenge ${span.shown.beforeDwell ?? ''}-${span.shown.afterDwell ?? ''}`,
      line: 'challenge',
      standardUncertainty: sigma,
      sensitivity: (-net * scale * here) / sigma,
    },
  ];
}

/** Values that the rig states: the leakage is proportional to each or to its inverse. */
function certificates({ method, rig }: ReadingContext, window: WholeWindow): Contribution[] {
  const { dwell, net, scale } = window;
  const leakage = net * scale;
  const reference = solePort(rig, 'reference');
  const { port } = dwell;
  const relative = (line: BudgetLineName, input: string, stated: Stated, power: 1 | -1): Contribution => ({
    input,
    line,
    standardUncertainty: stated.standardUncertainty,
    sensitivity: (power * leakage) / stated.value,
  });
  return [
    ...(method.applyDilution
      ? [
          relative('dilution', `dilution ${port.port}`, port.dilution, 1),
          relative('dilution', `dilution ${reference.port}`, reference.dilution, -1),
        ]
      : []),
    ...(method.applyPenetration
      ? [
          relative('line-loss', `penetration ${port.port}`, port.penetration, -1),
          relative('line-loss', `penetration ${reference.port}`, reference.penetration, 1),
        ]
      : []),
    ...(method.applySpatialFactor ? [relative('spatial-factor', 'spatial-factor', rig.spatialFactor, -1)] : []),
  ];
}

/** The photometer's lag and the ways of the air. */
function timing(context: ReadingContext, window: WholeWindow): Contribution[] {
  const { rig } = context;
  const { background, dwell, scale, span, zero } = window;
  const { ofSpan, ofZero } = sensitivities(window);
  const both = (value: AnchoredValue, slope: (of: ReadDwell) => number): number => {
    const { after, before } = weighted(value, slope);
    return before + after;
  };
  // d(corrected)/d(tau) is exact: corrected = mean + tau · (y_end − y_start)/W.
  const ofTimeConstant =
    scale * lagSlope(dwell) +
    ofZero * both(zero, lagSlope) +
    ofSpan * both(span, lagSlope) -
    (background === null ? 0 : scale * (lagSlope(background.dwell) - both(background.zero, lagSlope)));
  const later = scale * shiftSlope(context, dwell);
  return [
    {
      input: 'time-constant',
      line: 'time-constant',
      standardUncertainty: rig.timeConstantSeconds.standardUncertainty,
      sensitivity: ofTimeConstant,
    },
    ...(
      [
        ['transit common', rig.commonTransitSeconds],
        ['transit instrument', rig.instrumentDelaySeconds],
        [`transit ${dwell.port.port}`, dwell.port.transitSeconds],
      ] as const
    ).map(
      ([input, { standardUncertainty }]): Contribution => ({
        input,
        line: 'transit',
        standardUncertainty,
        sensitivity: later,
      }),
    ),
  ];
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
function shiftSlope(context: ReadingContext, { port, span }: ReadDwell): number {
  const { readings, rig } = context;
  const { intervalMicroseconds } = readings;
  if (!(intervalMicroseconds > 0)) return 0;
  const standard = Math.hypot(
    rig.commonTransitSeconds.standardUncertainty,
    rig.instrumentDelaySeconds.standardUncertainty,
    port.transitSeconds.standardUncertainty,
  );
  const wanted = Math.max(1, Math.round((standard * 1e6) / intervalMicroseconds));
  const moved = (by: number) => ({ first: span.first + by, end: span.end + by });
  const early = Math.min(wanted, span.first);
  const late = Math.min(wanted, readings.values.length - span.end);
  if (early + late === 0) return 0;
  const difference = meanOf(context, moved(late)).corrected - meanOf(context, moved(-early)).corrected;
  return difference / toSeconds((early + late) * intervalMicroseconds);
}
