import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { toSeconds } from '../model/time.ts';
import { median } from '../statistics/median.ts';
import type { AnchoredValue, DwellAnchor } from './anchors.ts';
import { noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { halvesOfZero } from './zero-tail.ts';

/** How the zero moved from one zero dwell to the next, beyond the common drift of the trial. Unit of the readings. */
export interface ZeroStep {
  /** The later of the two zeros. */
  readonly after: ReadDwell;
  /** At least 0. */
  readonly beyondDrift: number;
}

/** From one zero to the next. Unit of the readings. */
interface Move {
  readonly after: ReadDwell;
  readonly seconds: number;
  readonly moved: number;
  /** Standard uncertainty of the two zeros together. */
  readonly noise: number;
}

/** Fewer moves than this cannot say what is common among them. */
export const fewestMoves = 3;

/** Standard deviation of normal values for each unit of their median absolute deviation. */
const deviationsOfMedian = 1.4826;
/** Standard deviation of a median of normal values for each unit of that of their mean. */
const medianForMean = 1.2533;
/** So many standard deviations of noise are not taken for a move of the zero. */
const noiseLet = 3;

/**
 * How much further than with many moves a move has to stand out among few of them, where the others show that the zero
 * wanders: in 2 % of trials whose zero walks at random (numerical study, 40 000 trials of 3 to 15 moves) the
 * outermost move exceeds five times this measure. With three or four moves no wander can be told from a step.
 */
const factorsOfFew: readonly { readonly moves: number; readonly factor: number }[] = [
  { moves: 4, factor: 22 },
  { moves: 6, factor: 3.7 },
  { moves: 8, factor: 2.1 },
  { moves: 10, factor: 1.6 },
  { moves: Number.POSITIVE_INFINITY, factor: 1.4 },
];

/**
 * Moves of the zero that do not fit the rest of the trial: a knock, a speck of dust on the optics. Between two zeros
 * a straight line is drawn, which is right for a drift and wrong for a step. The common drift is the median rate of
 * all moves; how far the others wander about it beyond their noise, and the noise of the two zeros, are the measure.
 * Robust by design: with a mean and a root of squares a step would be part of its own measure. A step within a zero is
 * two half moves; it shows between the halves of that zero, and concerns both sides of it.
 * @returns the moves beyond `deviations` of that measure; none with fewer than three moves.
 */
export function zeroSteps(
  context: ReadingContext,
  zeros: readonly DwellAnchor[],
  blank: BlankScatter | null,
  deviations: number,
): ZeroStep[] {
  if (blank === null || zeros.length <= fewestMoves) return [];
  const moves = movesOf(context, zeros, blank);
  const rate = commonRate(moves);
  const seconds = moves.reduce((sum, move) => sum + move.seconds, 0);
  // Of the median of rates that are weighted by their time.
  const rateNoise = (medianForMean * Math.hypot(...moves.map(({ noise }) => noise))) / seconds;
  const beyond = moves.map((move) => ({
    ...move,
    beyondDrift: Math.abs(move.moved - rate * move.seconds),
    noise: Math.hypot(move.noise, rateNoise * move.seconds),
  }));
  // A zero that walks at random moves by the root of the time.
  const wanders = beyond.map(
    ({ beyondDrift, noise, seconds }) =>
      Math.sqrt(Math.max(0, beyondDrift ** 2 - (noiseLet * noise) ** 2)) / Math.sqrt(seconds),
  );
  const factor = factorsOfFew.find(({ moves: most }) => moves.length <= most)?.factor ?? 1;
  const between = beyond.flatMap(({ after, beyondDrift, noise, seconds }, index) => {
    const others = wanders.filter((_, other) => other !== index);
    const wander = factor * deviationsOfMedian * median(others) * Math.sqrt(seconds);
    return beyondDrift > deviations * Math.hypot(noise, wander) ? [{ after, beyondDrift }] : [];
  });
  return [...between, ...stepsWithin(context, zeros, blank, { deviations, rate })];
}

function movesOf({ readings }: ReadingContext, zeros: readonly DwellAnchor[], blank: BlankScatter): Move[] {
  const noise = ({ dwell }: DwellAnchor): number => noiseOf(blank, readings.resolution, dwell.mean.squaredWeights);
  return zeros.slice(1).map((to, index) => {
    const from = zeros[index] as DwellAnchor;
    return {
      after: to.dwell,
      seconds: toSeconds(to.atMicroseconds - from.atMicroseconds),
      moved: to.value - from.value,
      noise: Math.hypot(noise(from), noise(to)),
    };
  });
}

/** Median of the rates, each with the weight of its time: between two zeros that are close, noise is a large rate. */
function commonRate(moves: readonly Move[]): number {
  const ascending = moves.toSorted((one, other) => one.moved / one.seconds - other.moved / other.seconds);
  const half = moves.reduce((sum, { seconds }) => sum + seconds, 0) / 2;
  let before = 0;
  for (const { moved, seconds } of ascending) {
    before += seconds;
    if (before >= half) return moved / seconds;
  }
  return 0;
}

/** Zeros whose halves differ by more than noise and drift: a step of both gaps beside them. */
function stepsWithin(
  context: ReadingContext,
  zeros: readonly DwellAnchor[],
  blank: BlankScatter,
  { deviations, rate }: { readonly deviations: number; readonly rate: number },
): ZeroStep[] {
  return zeros.flatMap(({ dwell }, index) => {
    const halves = halvesOfZero(context, dwell, blank);
    if (halves === null) return [];
    const beyondDrift = Math.abs(halves.late - halves.early - rate * halves.seconds);
    if (beyondDrift <= deviations * halves.noise) return [];
    return [dwell, ...zeros.slice(index + 1, index + 2).map((next) => next.dwell)].map((after) => ({
      after,
      beyondDrift,
    }));
  });
}

/**
 * What a step between the zeros around a window may be worth there at the most: nobody saw on which side of the
 * window it happened. 0 where there is none.
 */
export function stepAtWindow(steps: readonly ZeroStep[], zero: AnchoredValue): number {
  if (zero.before === null) return 0;
  const { weightAfter } = zero.shown;
  let largest = 0;
  for (const { after, beyondDrift } of steps) if (after === zero.after) largest = Math.max(largest, beyondDrift);
  return largest * Math.max(weightAfter, 1 - weightAfter);
}
