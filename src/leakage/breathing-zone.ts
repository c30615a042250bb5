import type { Method } from '../model/method.ts';
import type { Port, Rig } from '../model/rig.ts';
import { breathingInstrument } from '../model/rig.ts';
import type { StreamDescriptor } from '../model/stream.ts';
import { toSeconds } from '../model/time.ts';
import type { StreamRecord, TrialRecord } from '../model/trial-record.ts';
import { streamOf } from '../model/trial-record.ts';
import { breathGates, courseOfBreath } from '../physiology/breathing.ts';
import { probeTime } from './alignment.ts';
import { doubt, figure } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import type { WindowMean } from './lag.ts';

/** Stream of a breathing instrument that carries flow, into the subject positive. */
const breathFlowStream = 'flow';

/** Breaths on either side of a window that are read with it, for the baseline of the flow, s. */
const breathsAroundSeconds = 30;

/** A longer silence of the flow hides a change of direction, s. */
const longestSilenceSeconds = 0.3;

/** Without flow for longer than this nobody breathes, or the sensor is off, s (common practice, no source). */
const longestStillSeconds = 4;
/** With one value for longer than this a sensor does not measure, s. */
const longestFrozenSeconds = 1;

/** Fewer readings of the flow than this show no course of breath. */
const fewestReadings = 10;
/** Fewer breaths than this are no mean of breathing. */
const fewestBreaths = 2;

/** A stretch of time during which the subject breathed in, probe time, µs. */
export interface Inspiration {
  readonly fromMicroseconds: number;
  readonly toMicroseconds: number;
}

/** How the subject breathed while the air of a window left the probe. */
export interface BreathedWindow {
  readonly inspiredSeconds: number;
  readonly expiredSeconds: number;
  /** (t_in + t_ex)/t_in. */
  readonly factor: number;
  readonly factorUncertainty: number;
  /** As far as they lie in the window, in order of time. */
  readonly inspirations: readonly Inspiration[];
  /** Breaths of the window that no person takes, or too few of them. */
  readonly doubts: readonly Doubt[];
}

/** The flow of breath of a trial; undefined where the rig has no probe in the breathing zone, or the record no flow. */
export function breathFlowOf(record: TrialRecord, rig: Rig): StreamRecord | undefined {
  const instrument = breathingInstrument(rig);
  return instrument === undefined ? undefined : streamOf(record, instrument, breathFlowStream);
}

/** Which of the streams of a rig carries the flow of breath that leakage needs; null where none does. */
export function breathStream(rig: Rig, streams: readonly StreamDescriptor[]): StreamDescriptor | null {
  const named = breathingInstrument(rig);
  return streams.find(({ instrument, stream }) => instrument === named && stream === breathFlowStream) ?? null;
}

/** What breath is told from: the flow absent where the record holds none, or none is needed. */
interface BreathContext {
  readonly rig: Rig;
  readonly method: Method;
  readonly breathFlow?: StreamRecord;
}

/**
 * Air that is breathed out carries next to nothing of the challenge, so a probe between mouth and ensemble reads the
 * leakage thinned by it. The mean of what was breathed in is the mean of all times (t_in + t_ex)/t_in, with the times
 * of inspiration and expiration inside the very window, on probe time (EN 149, clause 8.5, takes those of the exercise,
 * all of which is its window; from memory).
 *
 * Its standard uncertainty: every change of direction is known to the rectangle of one interval of the flow, and an
 * end of the window next to one is blurred by the dispersion of the common line. A transit that is not right moves
 * breath against reading: that is in the line `transit`, which sees the reading rise and fall with the breath.
 *
 * @param number of the dwell. @param pieces of its window, arrival time.
 * @returns null where nothing is to be corrected; a doubt where it cannot be.
 */
export function breathedInWindow(
  context: BreathContext,
  number: number,
  port: Port,
  pieces: readonly { readonly mean: WindowMean }[],
): BreathedWindow | Doubt | null {
  const { breathFlow, method, rig } = context;
  if (port.breathingZone !== true || method.applyBreathingZone === false) return null;
  const missing = (found: string): Doubt => doubt('no-breathing', number, found);
  if (breathFlow === undefined) return missing('the record holds no flow of breath');
  const stretches = pieces.map(({ mean }) => ({
    fromMicroseconds: probeTime(mean.fromMicroseconds, rig, port),
    toMicroseconds: probeTime(mean.toMicroseconds, rig, port),
  }));
  const whole = {
    fromMicroseconds: Math.min(...stretches.map(({ fromMicroseconds }) => fromMicroseconds)),
    toMicroseconds: Math.max(...stretches.map(({ toMicroseconds }) => toMicroseconds)),
  };
  const flow = unbrokenAround(breathFlow, whole);
  if (flow === null || flow.seconds.length < fewestReadings) {
    const silent = `is silent for more than ${longestSilenceSeconds} s`;
    return missing(`the flow of breath does not cover the window, or ${silent}`);
  }
  const course = courseOfBreath({ seconds: flow.seconds, litresPerSecond: flow.flow });
  const onTrialTime = (second: number): number => flow.originMicroseconds + second * 1e6;
  const changes = course.changesSeconds.map(onTrialTime);
  if (!((changes[0] ?? Infinity) <= whole.fromMicroseconds)) {
    return missing('the flow of breath shows no breath that begins before the window');
  }
  const times = timesOf(changes, stretches, flow.intervalSeconds, rig.commonDispersionSeconds);
  if (times === null) return missing('nothing was breathed in during the window');
  const span = [
    toSeconds(whole.fromMicroseconds - flow.originMicroseconds),
    toSeconds(whole.toMicroseconds - flow.originMicroseconds),
  ] as const;
  const doubtful = (found: string, seconds: number, limit: number): Doubt[] =>
    seconds > limit ? [doubt('breathing-doubtful', number, found, figure(seconds, limit, 'seconds'))] : [];
  const doubts = [
    ...oddBreaths(changes, whole, number),
    ...doubtful('the flow of breath hardly moves for', course.stillSeconds(...span), longestStillSeconds),
    ...doubtful('the flow of breath has one value for', course.frozenSeconds(...span), longestFrozenSeconds),
    ...(method.lagCorrection
      ? []
      : [doubt('breathing-doubtful', number, 'the lag is not corrected: reading and breath are not on one time')]),
  ];
  return { ...times, doubts };
}

interface UnbrokenFlow {
  readonly originMicroseconds: number;
  readonly seconds: Float64Array;
  readonly flow: Float64Array;
  /** Mean time between readings, s. */
  readonly intervalSeconds: number;
}

/**
 * The readings of the stretch and half a minute to either side, as far as nothing is missing; null where it is. What no
 * breath can be is missing, and of several lines with one stamp, that of their chunk, the last counts.
 */
function unbrokenAround(stream: StreamRecord, { fromMicroseconds, toMicroseconds }: Inspiration): UnbrokenFlow | null {
  const { atMicroseconds: at, values } = stream;
  const { plausibleHigh, plausibleLow } = stream.descriptor;
  const silence = longestSilenceSeconds * 1e6;
  const isUsed = (index: number): boolean => {
    const value = values[index] as number;
    const plausible = value >= (plausibleLow ?? -Infinity) && value <= (plausibleHigh ?? Infinity);
    return Number.isFinite(value) && plausible && at[index + 1] !== at[index];
  };
  const middle = firstAtOrAfter(at, fromMicroseconds);
  const before: number[] = [];
  const earliest = fromMicroseconds - breathsAroundSeconds * 1e6;
  let last = fromMicroseconds;
  for (let index = middle - 1; index >= 0 && (at[index] as number) >= earliest; index -= 1) {
    if (!isUsed(index)) continue;
    if (last - (at[index] as number) > silence) break;
    before.push(index);
    last = at[index] as number;
  }
  const kept = before.reverse();
  const latest = toMicroseconds + breathsAroundSeconds * 1e6;
  last = at[kept.at(-1) ?? -1] ?? Number.NaN;
  for (let index = middle; index < at.length && (at[index] as number) <= latest; index += 1) {
    if (!isUsed(index)) continue;
    if (!((at[index] as number) - last <= silence)) break;
    kept.push(index);
    last = at[index] as number;
  }
  const [first] = kept;
  if (first === undefined || !(last >= toMicroseconds - silence)) return null;
  const originMicroseconds = at[first] as number;
  return {
    originMicroseconds,
    seconds: Float64Array.from(kept, (index) => toSeconds((at[index] as number) - originMicroseconds)),
    flow: Float64Array.from(kept, (index) => values[index] as number),
    intervalSeconds: toSeconds(last - originMicroseconds) / Math.max(1, kept.length - 1),
  };
}

/** First index whose time is not before this moment. */
function firstAtOrAfter(at: Float64Array, moment: number): number {
  let low = 0;
  let high = at.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((at[middle] as number) < moment) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** @returns null where nothing was breathed in. */
function timesOf(
  changes: readonly number[],
  stretches: readonly Inspiration[],
  intervalSeconds: number,
  dispersionSeconds: number,
): Omit<BreathedWindow, 'doubts'> | null {
  const inspirations: Inspiration[] = [];
  let inspired = 0;
  let length = 0;
  let inside = 0;
  let blurred = 0;
  const near = 2e6 * dispersionSeconds;
  for (const { fromMicroseconds, toMicroseconds } of stretches) {
    length += toMicroseconds - fromMicroseconds;
    inside += changes.filter((at) => at > fromMicroseconds && at < toMicroseconds).length;
    for (const end of [fromMicroseconds, toMicroseconds]) {
      if (changes.some((at) => Math.abs(at - end) < near)) blurred += 1;
    }
    for (let index = 0; index < changes.length; index += 2) {
      const begins = Math.max(changes[index] as number, fromMicroseconds);
      const ends = Math.min(changes[index + 1] ?? toMicroseconds, toMicroseconds);
      if (!(ends > begins)) continue;
      inspired += ends - begins;
      inspirations.push({ fromMicroseconds: begins, toMicroseconds: ends });
    }
  }
  if (inspired === 0) return null;
  const inspiredSeconds = toSeconds(inspired);
  const factor = length / inspired;
  const ofChanges = inside * (intervalSeconds ** 2 / 12);
  // At an end in the middle of a change, the tail of a normal curve: σ/√(2π).
  const ofEnds = blurred * (dispersionSeconds ** 2 / (2 * Math.PI));
  return {
    inspiredSeconds,
    expiredSeconds: toSeconds(length - inspired),
    factor,
    factorUncertainty: (factor * Math.sqrt(ofChanges + ofEnds)) / inspiredSeconds,
    inspirations,
  };
}

/** What is odd about the breaths that touch a window: of a length that nobody takes, or hardly one. */
function oddBreaths(
  changes: readonly number[],
  { fromMicroseconds, toMicroseconds }: Inspiration,
  dwell: number,
): Doubt[] {
  const { secondsHigh, secondsLow } = breathGates;
  let breaths = 0;
  for (let index = 0; index < changes.length; index += 2) {
    const begins = changes[index] as number;
    const next = changes[index + 2];
    if ((next ?? Infinity) <= fromMicroseconds || begins >= toMicroseconds) continue;
    breaths += 1;
    const seconds = next === undefined ? null : toSeconds(next - begins);
    if (seconds === null || (seconds >= secondsLow && seconds <= secondsHigh)) continue;
    const limit = seconds < secondsLow ? secondsLow : secondsHigh;
    return [doubt('breathing-doubtful', dwell, 'a breath of the window lasts', figure(seconds, limit, 'seconds'))];
  }
  return breaths < fewestBreaths ? [doubt('breathing-doubtful', dwell, 'the window touches a single breath')] : [];
}
