import { ChambersideError } from '../model/error-code.ts';
import { btpsFactor, type MeasuredAir } from './gas-volume.ts';

/** Flow at the mouth, positive while air goes in. One element for each reading, times ascending. */
export interface FlowRecord {
  readonly seconds: Float64Array;
  readonly litresPerSecond: Float64Array;
}

/** One breath, from the beginning of an inspiration to that of the next. Volumes at BTPS, else as measured, L. */
export interface Breath {
  readonly startSeconds: number;
  readonly inspirationSeconds: number;
  readonly expirationSeconds: number;
  readonly inspiredLitres: number;
  readonly expiredLitres: number;
  /** Why it counts in no mean; null when it counts. */
  readonly refused: string | null;
}

export interface Breathing {
  readonly breaths: readonly Breath[];
  readonly accepted: number;
  readonly ratePerMinute: number;
  /** Mean inspired volume of a breath, L, as those of the breaths. */
  readonly tidalLitres: number;
  /** Inspired volume in a minute, L, likewise. */
  readonly minuteLitres: number;
  readonly inspirationSeconds: number;
  readonly expirationSeconds: number;
  /** Flow that was subtracted, L/s as measured: at the first breath and at the last. */
  readonly baseline: readonly [number, number];
}

/** What a breath of a person can be (common practice). */
export const breathGates = { secondsLow: 0.75, secondsHigh: 15, litresLow: 0.1, litresHigh: 5 } as const;

/** Flow must exceed this share of its upper quartile before a change of direction counts. */
const hysteresisShare = 0.1;

/**
 * Breaths from flow. The baseline drifts with temperature and pressure: the straight line is subtracted that leaves no
 * net volume over the breaths (two rounds, because the crossings move with it). Volumes are trapezoids between the
 * crossings. Breaths outside the gates are kept and named, but count in no mean: 4 to 80 a minute, 0.1 to 5 L.
 * @param air as it passed the sensor; null: not known, and volumes stay as they were measured.
 * @throws ChambersideError `record-insufficient` for fewer than three breaths that count, times that do not ascend or a
 * reading that is not finite; `outside-validity` as `btpsFactor`.
 */
export function breathsFromFlow(record: FlowRecord, air: MeasuredAir | null): Breathing {
  const { seconds } = record;
  const factor = air === null ? 1 : btpsFactor(air);
  const { crossings, flow, line } = turnsOfFlow(record);
  const breaths: Breath[] = [];
  for (let index = 0; index + 2 < crossings.length; index += 2) {
    const [start = 0, turn = 0, end = 0] = crossings.slice(index, index + 3);
    breaths.push(
      judged({
        startSeconds: start,
        inspirationSeconds: turn - start,
        expirationSeconds: end - turn,
        inspiredLitres: factor * volumeBetween(seconds, flow, start, turn),
        expiredLitres: -factor * volumeBetween(seconds, flow, turn, end),
        refused: null,
      }),
    );
  }
  const counted = breaths.filter((breath) => breath.refused === null);
  if (counted.length < 3) throw tooLittle(`only ${counted.length} breaths of ${breaths.length} can be told`);
  const mean = (of: (breath: Breath) => number): number =>
    counted.reduce((sum, breath) => sum + of(breath), 0) / counted.length;
  const inspirationSeconds = mean((breath) => breath.inspirationSeconds);
  const expirationSeconds = mean((breath) => breath.expirationSeconds);
  const tidalLitres = mean((breath) => breath.inspiredLitres);
  const ratePerMinute = 60 / (inspirationSeconds + expirationSeconds);
  const at = (second: number): number => line.level + line.slope * second;
  return {
    breaths,
    accepted: counted.length,
    ratePerMinute,
    tidalLitres,
    minuteLitres: ratePerMinute * tidalLitres,
    inspirationSeconds,
    expirationSeconds,
    baseline: [at(crossings[0] ?? 0), at(crossings.at(-1) ?? 0)],
  };
}

/** When somebody breathed in and out, and how long nobody seems to have breathed at all. */
export interface BreathCourse {
  /**
   * When the direction changes, s: inward first, outward next, in turn; without what lies before the first change
   * inward that can be told.
   */
  readonly changesSeconds: readonly number[];
  /** Longest time between two moments without flow that would count as breath, s. */
  stillSeconds(fromSeconds: number, toSeconds: number): number;
  /** Longest time between them with one and the same value, s: a sensor that moves does not give it. */
  frozenSeconds(fromSeconds: number, toSeconds: number): number;
}

/**
 * The course of breath. The baseline is removed as for `breathsFromFlow`; flow may be in any unit.
 * @throws ChambersideError `record-insufficient` for times that do not ascend or a reading that is not finite.
 */
export function courseOfBreath(record: FlowRecord): BreathCourse {
  const { crossings, flow } = turnsOfFlow(record);
  const { litresPerSecond: raw, seconds } = record;
  const threshold = thresholdOf(flow);
  const longest = (from: number, to: number, goesOn: (index: number) => boolean): number => {
    let most = 0;
    let since = Number.NaN;
    for (let index = 1; index < seconds.length; index += 1) {
      const at = seconds[index] as number;
      if (at < from || at > to || !goesOn(index)) {
        since = Number.NaN;
        continue;
      }
      if (Number.isNaN(since)) since = Math.max(from, seconds[index - 1] as number);
      most = Math.max(most, at - since);
    }
    return most;
  };
  return {
    changesSeconds: crossings,
    stillSeconds: (from, to) => longest(from, to, (index) => Math.abs(flow[index] as number) <= threshold),
    frozenSeconds: (from, to) => longest(from, to, (index) => raw[index] === raw[index - 1]),
  };
}

/** Changes of direction, the flow without its baseline, and that. */
function turnsOfFlow(record: FlowRecord): { crossings: number[]; flow: Float64Array; line: Line } {
  const { seconds } = record;
  requireRecord(record);
  let flow = record.litresPerSecond;
  let line: Line = { level: 0, slope: 0 };
  for (let round = 0; round < 3; round += 1) {
    const crossings = changesOfDirection(seconds, flow);
    const correction = baselineOf(seconds, flow, crossings);
    if (correction === null) break;
    line = { level: line.level + correction.level, slope: line.slope + correction.slope };
    flow = record.litresPerSecond.map((value, index) => value - line.level - line.slope * (seconds[index] as number));
  }
  return { crossings: changesOfDirection(seconds, flow), flow, line };
}

interface Line {
  readonly level: number;
  readonly slope: number;
}

function requireRecord({ seconds, litresPerSecond }: FlowRecord): void {
  if (seconds.length !== litresPerSecond.length || seconds.length < 10) throw tooLittle('the record is too short');
  for (let index = 0; index < seconds.length; index += 1) {
    if (!Number.isFinite(seconds[index]) || !Number.isFinite(litresPerSecond[index])) {
      throw tooLittle(`reading ${index + 1} is no finite number`);
    }
    if (index > 0 && !((seconds[index] as number) > (seconds[index - 1] as number))) {
      throw tooLittle(`the times do not ascend at reading ${index + 1}`);
    }
  }
}

function tooLittle(what: string): ChambersideError {
  return new ChambersideError(
    'record-insufficient',
    `No breaths can be told: ${what}`,
    'the breathing record',
    'Check the sensor and its connection, and record at least half a minute of quiet breathing.',
  );
}

function thresholdOf(flow: Float64Array): number {
  const sizes = flow.map(Math.abs).sort();
  return hysteresisShare * (sizes[Math.floor(0.75 * sizes.length)] as number);
}

/** Times of the changes of direction, inward first and outward next, in turn; small wiggles around nothing are none. */
function changesOfDirection(seconds: Float64Array, flow: Float64Array): number[] {
  const threshold = thresholdOf(flow);
  const crossings: number[] = [];
  let direction = 0;
  let crossing = Number.NaN;
  for (let index = 1; index < flow.length; index += 1) {
    const before = flow[index - 1] as number;
    const now = flow[index] as number;
    if (before <= 0 !== now <= 0) {
      const gap = (seconds[index] as number) - (seconds[index - 1] as number);
      crossing = (seconds[index - 1] as number) + (gap * before) / (before - now);
    }
    if (Math.abs(now) <= threshold || Math.sign(now) === direction) continue;
    // The record may begin in the middle of a breath: the first change inward begins the first one.
    const known = direction !== 0 && !Number.isNaN(crossing);
    direction = Math.sign(now);
    if (known && (crossings.length > 0 || direction > 0)) crossings.push(crossing);
  }
  return crossings;
}

/** Straight line through the mean flows of single breaths; a level alone below four of them; null for none. */
function baselineOf(seconds: Float64Array, flow: Float64Array, crossings: readonly number[]): Line | null {
  const middles: number[] = [];
  const means: number[] = [];
  const weights: number[] = [];
  for (let index = 0; index + 2 < crossings.length; index += 2) {
    const start = crossings[index] as number;
    const end = crossings[index + 2] as number;
    middles.push((start + end) / 2);
    means.push(volumeBetween(seconds, flow, start, end) / (end - start));
    weights.push(end - start);
  }
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  if (total === 0) return null;
  const weighted = (of: (index: number) => number): number =>
    weights.reduce((sum, weight, index) => sum + weight * of(index), 0) / total;
  const middle = weighted((index) => middles[index] as number);
  const level = weighted((index) => means[index] as number);
  if (means.length < 4) return { level, slope: 0 };
  const spread = weighted((index) => ((middles[index] as number) - middle) ** 2);
  const together = weighted((index) => ((middles[index] as number) - middle) * ((means[index] as number) - level));
  const slope = together / spread;
  return { level: level - slope * middle, slope };
}

/** Trapezoids between two times, the ends interpolated, L. */
function volumeBetween(seconds: Float64Array, flow: Float64Array, from: number, to: number): number {
  let volume = 0;
  for (let index = 1; index < seconds.length; index += 1) {
    const left = seconds[index - 1] as number;
    const right = seconds[index] as number;
    if (right <= from) continue;
    if (left >= to) break;
    const slope = ((flow[index] as number) - (flow[index - 1] as number)) / (right - left);
    const begin = Math.max(left, from);
    const end = Math.min(right, to);
    const middle = (flow[index - 1] as number) + slope * ((begin + end) / 2 - left);
    volume += middle * (end - begin);
  }
  return volume;
}

function judged(breath: Breath): Breath {
  const length = breath.inspirationSeconds + breath.expirationSeconds;
  const { secondsLow, secondsHigh, litresLow, litresHigh } = breathGates;
  const refused =
    length < secondsLow
      ? 'too short'
      : length > secondsHigh
        ? 'too long'
        : breath.inspiredLitres < litresLow
          ? 'too small'
          : breath.inspiredLitres > litresHigh
            ? 'too large'
            : null;
  return { ...breath, refused };
}
