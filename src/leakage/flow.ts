import { median } from '../statistics/median.ts';

/**
 * A reading of a probe's line against filtered air, nothing subtracted but the zero; with standard uncertainties, all
 * in the unit of the reading.
 */
export interface ReadingAgainstAir {
  /** R − Z. */
  readonly net: number;
  readonly windowNoise: number;
  readonly zeroNoise: number;
  /** What the ports before may have left in window and zeros, ≥ 0. */
  readonly carryOver: number;
}

/** A probe's background, and what turns its reading into one at the probe. */
export interface BackgroundAgainstAir extends ReadingAgainstAir {
  /** Dilution over penetration of the line. */
  readonly factor: number;
}

/** What was measured and what it is less than. */
export interface AgainstLimit {
  readonly value: number;
  readonly limit: number;
}

/** Windows `first` to `last`, both included, whose mean cannot be told from filtered air. */
export interface RunAgainstAir extends AgainstLimit {
  readonly first: number;
  readonly last: number;
}

/** A background that other probes suggest is missing. */
export interface MissingBackground extends AgainstLimit {
  /** What they suggest it should read. */
  readonly expected: number;
}

export interface DoubtsOfLine {
  /** One for each window: the longest such run it is part of, or whether it lies beside one. */
  readonly windows: readonly (RunAgainstAir | 'beside' | null)[];
  /** The background where it was read through the same blocked line; null where nothing says so. */
  readonly background: AgainstLimit | null;
}

/** An open window elsewhere has to stand out by this many detection limits of a run, or the run proves nothing. */
const limitsOfFlow = 2;
/** A blocked window is lifted above its detection limit by noise now and then, but hardly above so many. */
const limitsOfSureFlow = 4 / 3;
/** A run below this share of the least flow elsewhere is not explained by an ensemble that leaked less for a while. */
const shareOfLeastFlow = 1 / 2;
/** Backgrounds of the probes of one ensemble differ, but hardly by so much. */
const shareOfOtherBackgrounds = 1 / 4;
/** What other probes only suggest is no doubt about a window of which it makes no more than this share. */
const shareOfWindow = 1 / 50;

/**
 * Which windows of a probe read no more than filtered air? Air from inside an ensemble carries at least the probe's
 * background, whatever leaks; a line through which nothing flows reads zero. One window is often too noisy to tell, so
 * windows that follow each other are taken together, in every run that begins and ends with one like filtered air.
 *
 * The mean of a run is held against `detectionFactor` times its standard uncertainty and what may be carried over:
 * noise of the windows is independent, that of the zeros is counted as one input that all share. That is too much for
 * zeros that differ, and leaves room for what the zero does between them. A run of all windows needs no more than that.
 * A shorter one is held against the windows outside it that do show flow: the least of these has to be large enough to
 * be seen in the run, and the run has to lie below half of it. A window beside the run that hardly shows flow is asked
 * only where there are no others: a blocked window that noise lifts a little must not excuse the rest.
 *
 * A blockage may have begun or ended in the windows beside a run. Where a run begins with the first window and the
 * background reads like filtered air too, the line was blocked before, and all that is net of that background is wrong.
 *
 * @param windows of one probe, in order of time.
 * @param background null where none is subtracted.
 */
export function doubtsOfLine(
  background: ReadingAgainstAir | null,
  windows: readonly ReadingAgainstAir[],
  detectionFactor: number,
): DoubtsOfLine {
  const found: (RunAgainstAir | 'beside' | null)[] = windows.map(() => null);
  const runs = runsAgainstAir(windows, detectionFactor);
  for (const run of runs) {
    for (let index = run.first; index <= run.last; index += 1) found[index] ??= run;
  }
  for (const { first, last } of runs) {
    for (const index of [first - 1, last + 1]) if (found[index] === null) found[index] = 'beside';
  }
  const blockedBefore = typeof found[0] === 'object' && found[0] !== null && background !== null;
  return { windows: found, background: blockedBefore ? againstAir(background, detectionFactor) : null };
}

/** Every run that reads like a blocked line, the longest first. */
function runsAgainstAir(windows: readonly ReadingAgainstAir[], detectionFactor: number): RunAgainstAir[] {
  const count = windows.length;
  const flows = windows.map((window) => (againstAir(window, detectionFactor) === null ? window.net : Infinity));
  const sureFlows = windows.map((window, index) =>
    window.net < limitsOfSureFlow * limitOf(window, detectionFactor) ? Infinity : (flows[index] as number),
  );
  const leastBefore = [Infinity];
  const leastAfter = Array.from({ length: count + 1 }, () => Infinity);
  const sums = [{ net: 0, windowVariance: 0, zeroNoise: 0, carryOver: 0 }];
  windows.forEach((window, index) => {
    const before = sums[index] as (typeof sums)[number];
    sums.push({
      net: before.net + window.net,
      windowVariance: before.windowVariance + window.windowNoise ** 2,
      zeroNoise: before.zeroNoise + window.zeroNoise,
      carryOver: before.carryOver + window.carryOver,
    });
    leastBefore.push(Math.min(leastBefore[index] as number, flows[index] as number));
  });
  for (let index = count - 1; index >= 0; index -= 1) {
    leastAfter[index] = Math.min(leastAfter[index + 1] as number, flows[index] as number);
  }

  const runs: RunAgainstAir[] = [];
  for (let length = count; length > 0; length -= 1) {
    for (let first = 0; first + length <= count; first += 1) {
      const last = first + length - 1;
      const whole = length === count;
      if (!whole && (flows[first] !== Infinity || flows[last] !== Infinity)) continue;
      const from = sums[first] as (typeof sums)[number];
      const to = sums[last + 1] as (typeof sums)[number];
      const value = (to.net - from.net) / length;
      // What rounding leaves of a difference of sums may lie below nothing.
      const variance = Math.max(to.windowVariance - from.windowVariance, 0);
      const noise = (detectionFactor * Math.hypot(Math.sqrt(variance), to.zeroNoise - from.zeroNoise)) / length;
      const limit = noise + (to.carryOver - from.carryOver) / length;
      if (!(value < limit)) continue;
      if (!whole) {
        const apart = Math.min(leastBefore[Math.max(first - 1, 0)] as number, leastAfter[last + 2] ?? Infinity);
        const sure = Math.min(apart, sureFlows[first - 1] ?? Infinity, sureFlows[last + 1] ?? Infinity);
        const all = Math.min(leastBefore[first] as number, leastAfter[last + 1] as number);
        const least = sure === Infinity ? all : sure;
        if (least === Infinity || least < limitsOfFlow * noise || !(value < shareOfLeastFlow * least)) continue;
      }
      runs.push({ first, last, value, limit });
    }
  }
  return runs;
}

/** A single reading against filtered air; null where it shows flow. */
function againstAir(reading: ReadingAgainstAir, detectionFactor: number): AgainstLimit | null {
  const limit = limitOf(reading, detectionFactor);
  return reading.net < limit ? { value: reading.net, limit } : null;
}

function limitOf(reading: ReadingAgainstAir, detectionFactor: number): number {
  return detectionFactor * noiseOfReading(reading) + reading.carryOver;
}

function noiseOfReading({ windowNoise, zeroNoise }: ReadingAgainstAir): number {
  return Math.hypot(windowNoise, zeroNoise);
}

/**
 * Backgrounds that are missing although other probes have one: the line was blocked while they were read, and was free
 * again before the first window. What is expected is the median of the others that show flow, as more than one line may
 * have been blocked, each by the dilution and penetration of its line; where that would not stand out of the noise,
 * nothing can be said.
 * @returns what was read, against the share of what was expected below which it counts as missing; or null.
 */
export function missingBackgrounds(
  backgrounds: readonly BackgroundAgainstAir[],
  detectionFactor: number,
): (MissingBackground | null)[] {
  return backgrounds.map((background, index) => {
    const others = backgrounds
      .filter((other, place) => place !== index && againstAir(other, detectionFactor) === null)
      .map(({ net, factor }) => net * factor);
    if (others.length === 0 || againstAir(background, detectionFactor) === null) return null;
    const expected = median(others) / background.factor;
    const limit = shareOfOtherBackgrounds * expected;
    const wouldShow = expected >= limitsOfFlow * detectionFactor * noiseOfReading(background);
    return wouldShow && background.net < limit ? { value: background.net, limit, expected } : null;
  });
}

/** Would a window be wrong by more than a small share of its own if this background was there and was not read? */
export function spoils({ value, expected }: MissingBackground, window: ReadingAgainstAir): boolean {
  return expected - value > shareOfWindow * (window.net - value);
}
