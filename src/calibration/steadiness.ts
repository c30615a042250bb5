import type { Rig } from '../model/rig.ts';
import { solePort } from '../model/rig.ts';
import type { Series } from '../model/series.ts';

/** One reading of the chamber reference. Time in µs of the trial clock, value in the photometer's unit. */
export interface ReferenceReading {
  readonly atMicroseconds: number;
  readonly value: number;
}

export interface SteadinessLimits {
  /** Length of the window that ends now, µs, > 0. */
  readonly windowMicroseconds: number;
  /** Steady when (highest − lowest)/mean is at most this, percent. */
  readonly rangePercent: number;
  /** A lower mean is no challenge, in the photometer's unit. */
  readonly leastMean: number;
  /** The readings must reach from one end of the window to the other but for this share of it, 0 to 1. */
  readonly missingShare: number;
}

export interface Steadiness {
  readonly steady: boolean;
  /** Null when there are too few readings to say, or their mean is not above zero. */
  readonly rangePercent: number | null;
  /** Mean of the readings in the window; null when there are none. */
  readonly meanReading: number | null;
}

/**
 * Is the challenge steady? Judges readings in [now − window, now] that were taken after settling. The window must
 * lie wholly after settling and be covered by readings: too little knowledge is never steady. The readings are
 * raw, stray light included: it is far below any challenge worth the name.
 *
 * @param readings in order of time; values that are no number are left out.
 * @param settledFromMicroseconds trial time from which the readings show the reference, µs.
 */
export function judgeSteadiness(
  readings: readonly ReferenceReading[],
  nowMicroseconds: number,
  settledFromMicroseconds: number,
  limits: SteadinessLimits,
): Steadiness {
  const beginning = nowMicroseconds - limits.windowMicroseconds;
  const from = Math.max(beginning, settledFromMicroseconds);
  const widestGap = limits.windowMicroseconds * limits.missingShare;
  let count = 0;
  let sum = 0;
  let lowest = Number.POSITIVE_INFINITY;
  let highest = Number.NEGATIVE_INFINITY;
  let previous = beginning;
  let covered = settledFromMicroseconds <= beginning;
  for (const { atMicroseconds, value } of readings) {
    if (atMicroseconds < from || atMicroseconds > nowMicroseconds || !Number.isFinite(value)) continue;
    if (atMicroseconds - previous > widestGap) covered = false;
    previous = atMicroseconds;
    count += 1;
    sum += value;
    lowest = Math.min(lowest, value);
    highest = Math.max(highest, value);
  }
  if (nowMicroseconds - previous > widestGap) covered = false;
  if (count === 0) return { steady: false, rangePercent: null, meanReading: null };
  const meanReading = sum / count;
  if (count < 2 || meanReading <= 0) return { steady: false, rangePercent: null, meanReading };
  const rangePercent = (100 * (highest - lowest)) / meanReading;
  const steady = covered && meanReading >= limits.leastMean && rangePercent <= limits.rangePercent;
  return { steady, rangePercent, meanReading };
}

export interface LevelLimits {
  /** Length of the window that ends now, µs, > 0. */
  readonly windowMicroseconds: number;
  /** From the first half of the window to the second the mean may change by this much, in the photometer's unit, … */
  readonly mostChange: number;
  /** … and by this share of itself on top, percent. */
  readonly mostChangePercent: number;
  /** The readings must reach from one end of the window to the other but for this share of it, 0 to 1. */
  readonly missingShare: number;
}

/**
 * Does a level no longer move? For air whose level may be nothing, where a range in percent of the mean says nothing.
 * Arguments as `judgeSteadiness`.
 */
export function judgeLevel(
  readings: readonly ReferenceReading[],
  nowMicroseconds: number,
  settledFromMicroseconds: number,
  limits: LevelLimits,
): boolean {
  const beginning = nowMicroseconds - limits.windowMicroseconds;
  if (settledFromMicroseconds > beginning) return false;
  const middle = beginning + limits.windowMicroseconds / 2;
  const widestGap = limits.windowMicroseconds * limits.missingShare;
  const first = { sum: 0, count: 0 };
  const second = { sum: 0, count: 0 };
  let previous = beginning;
  for (const { atMicroseconds, value } of readings) {
    if (atMicroseconds < beginning || atMicroseconds > nowMicroseconds || !Number.isFinite(value)) continue;
    if (atMicroseconds - previous > widestGap) return false;
    previous = atMicroseconds;
    const half = atMicroseconds < middle ? first : second;
    half.sum += value;
    half.count += 1;
  }
  if (nowMicroseconds - previous > widestGap || first.count === 0 || second.count === 0) return false;
  const before = first.sum / first.count;
  const after = second.sum / second.count;
  const most = limits.mostChange + (limits.mostChangePercent / 100) * Math.abs(after);
  return Math.abs(after - before) <= most;
}

/** What a series asks of the challenge on a rig. Gaps in the readings may be a tenth of the window. */
export function steadinessLimits(series: Series, rig: Rig): SteadinessLimits {
  return {
    windowMicroseconds: Math.round(series.entry.steadyWindowSeconds * 1_000_000),
    rangePercent: series.entry.steadyRangePercent,
    leastMean: (series.entry.leastChallengePercent / 100) * rig.challenge.nominal,
    missingShare: 0.1,
  };
}

/**
 * From the acknowledgement of the reference port until readings show it, s: the way to the photometer (through the
 * port's own line as well without bypass), its delay, and seven time constants (what was before has decayed to
 * e⁻⁷ = 0.09 %).
 */
export function referenceSettlingSeconds(rig: Rig): number {
  const stale = rig.bypass ? 0 : solePort(rig, 'reference').transitSeconds.value;
  return stale + rig.commonTransitSeconds.value + rig.instrumentDelaySeconds.value + 7 * rig.timeConstantSeconds.value;
}
