import type { BlankScatter } from '../../calibration/blank-scatter.ts';
import { shotVariancePerReading } from '../../calibration/shot-noise.ts';
import { interpolationVariance } from '../../calibration/wandering.ts';
import type { Stretch } from '../../calibration/wandering.ts';
import { toSeconds } from '../../model/time.ts';
import { fullDelayMicroseconds } from '../alignment.ts';
import { lengthOfWindow, middle } from '../anchors.ts';
import type { DwellAnchor } from '../anchors.ts';
import { netReference } from '../challenge.ts';
import { noiseOf } from '../dwell-reading.ts';
import type { ReadDwell, ReadingContext } from '../dwell-reading.ts';

/** How the zero moves between two zeros, beyond a straight line. */
export interface ZeroDrift {
  /** `smooth`: half the second derivative, reading/s². `random-walk`: √(variance per second), reading/√s. */
  readonly shape: 'smooth' | 'random-walk';
  readonly standard: number;
  readonly degreesOfFreedom: number;
}

/** How the challenge wanders about its course, as a first-order process with the chamber's air change time. */
export interface ChallengeWander {
  /** T, s, with the σ that the references show for it, share of the challenge. One, where the rig states T. */
  readonly wanders: readonly { readonly timeConstantSeconds: number; readonly relativeStandard: number }[];
  readonly degreesOfFreedom: number;
}

/** What a trial itself shows of the scatter of its inputs; null where it shows nothing. */
export interface TrialScatter {
  /** Variance of a single reading for each unit of net reading, in the unit of the readings. */
  readonly shotVariance: number;
  readonly zeroDrift: ZeroDrift | null;
  readonly challenge: ChallengeWander | null;
}

/**
 * Second differences overlap, so they are worth less than their count: 0.8 of it (numerical study of series of
 * seven to twelve references).
 */
const differenceShare = 0.8;

/** Where the rig does not state its chamber's air change time, it is held to lie in here, s. */
const possibleTimeConstants: readonly number[] = [10, 30, 100, 300, 1000];

export function trialScatter(
  context: ReadingContext,
  zeros: readonly DwellAnchor[],
  references: readonly ReadDwell[],
  blank: BlankScatter | null,
): TrialScatter {
  return {
    shotVariance: shotOf(context, zeros, references),
    zeroDrift: blank === null ? null : zeroDriftOf(context, zeros, blank),
    challenge: challengeOf(context, zeros, references),
  };
}

function shotOf(
  context: ReadingContext,
  zeros: readonly DwellAnchor[],
  references: readonly ReadDwell[],
): number {
  const { values } = context.readings;
  const readingsOf = ({ pieces }: ReadDwell): Float64Array[] =>
    pieces.map(({ end, first }) => values.subarray(first, end));
  const nets = references.map((reference) => netReference(reference, zeros, context.method));
  const level = meanOf(nets.filter((net) => net !== null));
  return shotVariancePerReading(
    references.flatMap(readingsOf),
    zeros.flatMap(({ dwell }) => readingsOf(dwell)),
    level ?? 0,
  );
}

function zeroDriftOf(context: ReadingContext, zeros: readonly DwellAnchor[], blank: BlankScatter): ZeroDrift | null {
  const shape = context.method.zeroDriftShape ?? 'smooth';
  const squares: number[] = [];
  const noises: number[] = [];
  for (const [before, middle, after] of triplets(zeros, ({ dwell }) => dwell)) {
    const first = toSeconds(middle.atMicroseconds - before.atMicroseconds);
    const second = toSeconds(after.atMicroseconds - middle.atMicroseconds);
    if (!(first > 0 && second > 0)) continue;
    const weightAfter = first / (first + second);
    const missed = middle.value - ((1 - weightAfter) * before.value + weightAfter * after.value);
    const variance = (anchor: DwellAnchor): number =>
      noiseOf(blank, context.readings.resolution, anchor.dwell.mean.squaredWeights) ** 2;
    const noise =
      variance(middle) + (1 - weightAfter) ** 2 * variance(before) + weightAfter ** 2 * variance(after);
    // A parabola with half second derivative k misses k · first · second; a walk of variance q per second scatters by
    // q · first · second / (first + second).
    const scale = shape === 'smooth' ? (first * second) ** 2 : (first * second) / (first + second);
    squares.push(missed ** 2 / scale);
    noises.push(noise / scale);
  }
  const square = meanOf(squares);
  const noise = meanOf(noises);
  if (square === null || noise === null) return null;
  return {
    shape,
    standard: Math.sqrt(Math.max(0, square - noise)),
    degreesOfFreedom: differenceShare * squares.length,
  };
}

/** Standard uncertainty of a zero between two zeros, in the unit of the readings. */
export function driftBetween(drift: ZeroDrift, gapSeconds: number, weightAfter: number): number {
  const inside = weightAfter * (1 - weightAfter);
  return drift.shape === 'smooth'
    ? drift.standard * inside * gapSeconds ** 2
    : drift.standard * Math.sqrt(inside * gapSeconds);
}

/**
 * Standard uncertainty of the challenge over a window between two references, share of it: the largest of all air
 * change times that are possible. A reference that is missing on one side is not made up for: the other one is held.
 */
export function wanderBetween(
  { wanders }: ChallengeWander,
  target: Stretch,
  before: Stretch | null,
  after: Stretch | null,
  weightAfter: number,
): number {
  const one = before ?? after;
  if (one === null) return 0;
  let largest = 0;
  for (const { relativeStandard, timeConstantSeconds } of wanders) {
    const weight = before === null ? 0 : weightAfter;
    const factor = interpolationVariance(target, one, after ?? one, weight, timeConstantSeconds);
    largest = Math.max(largest, relativeStandard * Math.sqrt(Math.max(0, factor)));
  }
  return largest;
}

function challengeOf(
  context: ReadingContext,
  zeros: readonly DwellAnchor[],
  references: readonly ReadDwell[],
): ChallengeWander | null {
  const { exchangeSeconds } = context.rig.challenge;
  const known = references.flatMap((dwell) => {
    const net = netReference(dwell, zeros, context.method);
    return net !== null && net > 0 ? [{ dwell, net, stretch: probeStretch(context, dwell) }] : [];
  });
  const found = triplets(known, ({ dwell }) => dwell).map(([before, middle, after]) => {
    const from = centre(before.stretch);
    const weightAfter = (centre(middle.stretch) - from) / (centre(after.stretch) - from);
    const expected = (1 - weightAfter) * before.net + weightAfter * after.net;
    return { before, middle, after, weightAfter, relative: middle.net / expected - 1 };
  });
  if (found.length === 0) return null;
  const degreesOfFreedom = differenceShare * found.length;
  const variance = (timeConstantSeconds: number): number =>
    meanOf(
      found.map(
        ({ after, before, middle, relative, weightAfter }) =>
          relative ** 2 /
          interpolationVariance(middle.stretch, before.stretch, after.stretch, weightAfter, timeConstantSeconds),
      ),
    ) ?? 0;
  const timeConstants = exchangeSeconds === undefined ? possibleTimeConstants : [exchangeSeconds];
  return {
    wanders: timeConstants.map((timeConstantSeconds) => ({
      timeConstantSeconds,
      relativeStandard: Math.sqrt(variance(timeConstantSeconds)),
    })),
    degreesOfFreedom,
  };
}

/** Three in a row of one time segment. */
function triplets<T>(all: readonly T[], dwellOf: (one: T) => ReadDwell): [T, T, T][] {
  const found: [T, T, T][] = [];
  for (let index = 2; index < all.length; index += 1) {
    const three = [all[index - 2] as T, all[index - 1] as T, all[index] as T] as [T, T, T];
    if (new Set(three.map((one) => dwellOf(one).segment)).size === 1) found.push(three);
  }
  return found;
}

function centre({ fromSeconds, toSeconds: to }: Stretch): number {
  return (fromSeconds + to) / 2;
}

/**
 * When the air that a window's mean is made of left the probe. Several pieces are taken as one of their length about
 * their middle: what wanders slowly differs less over pieces that lie further apart, so the doubt is not made smaller.
 */
export function probeStretch({ rig }: ReadingContext, dwell: ReadDwell): Stretch {
  const { mean, pieces, port } = dwell;
  const delay = fullDelayMicroseconds(rig, port);
  if (pieces.length > 1) {
    const centreSeconds = toSeconds(middle(dwell) - delay);
    const half = toSeconds(lengthOfWindow(dwell)) / 2;
    return { fromSeconds: centreSeconds - half, toSeconds: centreSeconds + half };
  }
  return {
    fromSeconds: toSeconds(mean.fromMicroseconds - delay),
    toSeconds: toSeconds(mean.toMicroseconds - delay),
  };
}

function meanOf(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}
