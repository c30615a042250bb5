import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { toSeconds } from '../model/time.ts';
import { median } from '../statistics/median.ts';
import type { AnchoredValue, DwellAnchor } from './anchors.ts';
import { noiseOf } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';

/** How the zero moved from one zero dwell to the next, beyond the common drift of the trial. Unit of the readings. */
export interface ZeroStep {
  readonly after: ReadDwell;
  /** Signed. */
  readonly beyondDrift: number;
  /** So far the other moves and the noise of the two zeros let it go. */
  readonly limit: number;
}

/** Fewer moves than this cannot say what is common among them. */
const fewestMoves = 3;

/** Standard deviation of normal values for each unit of their median absolute deviation. */
const deviationsOfMedian = 1.4826;

/**
 * Moves of the zero that do not fit the rest of the trial: a knock, a speck of dust on the optics. Between two zeros
 * a straight line is drawn, which is right for a drift and wrong for a step. The common drift is the median rate of
 * all moves; what scatters about it in the others, or the noise of the two zeros where that is more, is the measure.
 * Robust by design: with a mean and a root of squares a step would be part of its own measure.
 * @returns the moves beyond `deviations` of that measure; none with fewer than three moves.
 */
export function zeroSteps(
  { readings: { resolution } }: Pick<ReadingContext, 'readings'>,
  zeros: readonly DwellAnchor[],
  blank: BlankScatter | null,
  deviations: number,
): ZeroStep[] {
  if (blank === null || zeros.length <= fewestMoves) return [];
  const moves = zeros.slice(1).map((to, index) => {
    const from = zeros[index] as DwellAnchor;
    const noise = (anchor: DwellAnchor): number => noiseOf(blank, resolution, anchor.dwell.mean.squaredWeights);
    return {
      after: to.dwell,
      seconds: toSeconds(to.atMicroseconds - from.atMicroseconds),
      moved: to.value - from.value,
      noise: Math.hypot(noise(from), noise(to)),
    };
  });
  const rate = median(moves.map(({ moved, seconds }) => moved / seconds));
  const beyond = moves.map(({ moved, seconds }) => moved - rate * seconds);
  return moves.flatMap(({ after, noise }, index) => {
    const others = beyond.filter((_, other) => other !== index).map(Math.abs);
    const limit = deviations * Math.max(noise, deviationsOfMedian * median(others));
    const beyondDrift = beyond[index] as number;
    return Math.abs(beyondDrift) > limit ? [{ after, beyondDrift, limit }] : [];
  });
}

/**
 * What a step between the zeros around a window may be worth there at the most: nobody saw on which side of the
 * window it happened. 0 where there is none.
 */
export function stepAtWindow(steps: readonly ZeroStep[], zero: AnchoredValue): number {
  const step = steps.find(({ after }) => after === zero.after);
  if (step === undefined || zero.before === null) return 0;
  const { weightAfter } = zero.shown;
  return Math.abs(step.beyondDrift) * Math.max(weightAfter, 1 - weightAfter);
}
