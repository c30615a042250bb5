import { median } from '../statistics/median.ts';

/** Heart rates of the last minute; both arrays have one element per reading. */
export interface HeartMinute {
  /** Ascending, s. */
  readonly seconds: ArrayLike<number>;
  /** A minute. */
  readonly rates: ArrayLike<number>;
}

/** Stretch that a trend is told from, s. */
export const heartTrendSeconds = 60;

/** Fewer readings, or less time from the first to the last of them, tell no trend. Common practice, no source. */
const fewestReadings = 20;
const shortestSeconds = 40;

/** A heart that moves by less is steady: it moves by as much with the breath. Common practice, no source. */
const steadyPerMinute = 1.5;

/**
 * How fast a heart rate moves: the median of the slopes of all pairs of readings (Theil and Sen, from memory), which a
 * few wild readings do not move.
 * @returns a minute for each minute; null where there is too little to tell it from.
 */
export function heartTrendPerMinute({ rates, seconds }: HeartMinute): number | null {
  const count = Math.min(seconds.length, rates.length);
  if (count < fewestReadings) return null;
  if ((seconds[count - 1] as number) - (seconds[0] as number) < shortestSeconds) return null;
  const slopes: number[] = [];
  for (let late = 1; late < count; late += 1) {
    for (let early = 0; early < late; early += 1) {
      const apart = (seconds[late] as number) - (seconds[early] as number);
      if (apart > 0) slopes.push(((rates[late] as number) - (rates[early] as number)) / apart);
    }
  }
  return 60 * median(slopes);
}

export interface HeartTrend {
  readonly going: 'up' | 'down' | 'steady';
  /** Whole beats a minute, in a minute; 0 when steady. */
  readonly by: number;
}

/** Where a heart rate goes; null where it cannot be told. */
export function heartTrend(minute: HeartMinute): HeartTrend | null {
  const perMinute = heartTrendPerMinute(minute);
  if (perMinute === null) return null;
  if (Math.abs(perMinute) < steadyPerMinute) return { going: 'steady', by: 0 };
  return { going: perMinute > 0 ? 'up' : 'down', by: Math.round(Math.abs(perMinute)) };
}
