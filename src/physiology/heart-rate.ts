import type { AgeForm } from '../model/heart-by-age.ts';
import { ChambersideError } from '../model/error-code.ts';
import { requireWithin, requireThat } from './validity.ts';

/** Named limits by age. Rates a minute. */
export const ageLimits = {
  '220-minus-age': { title: '220 − age', of: (age: number) => 220 - age, source: 'several public pages' },
  tanaka: { title: '208 − 0.7 · age (Tanaka)', of: (age: number) => 208 - 0.7 * age, source: 'public code' },
  gellish: { title: '207 − 0.7 · age (Gellish)', of: (age: number) => 207 - 0.7 * age, source: 'from memory' },
  'iso-9886': {
    title: '185 − 0.65 · age (ISO 9886 annex C, sustained work and heat)',
    of: (age: number) => 185 - 0.65 * age,
    source: 'from memory: verify against the standard',
  },
  'sustained-strain': {
    title: '180 − age (sustained heat strain)',
    of: (age: number) => 180 - age,
    source: 'NIOSHTIC 20022478',
  },
} as const satisfies Record<AgeForm, { title: string; of: (age: number) => number; source: string }>;

const ageRange = { name: 'the age', unit: 'years', lowest: 16, highest: 80 };

/** A limit by age, a minute. @throws ChambersideError `outside-validity` outside 16 to 80 years. */
export function ageLimit(formula: AgeForm, ageYears: number): number {
  const { title, of } = ageLimits[formula];
  requireWithin(ageYears, ageRange, title, 'Let a physician set the limit of this subject.');
  return of(ageYears);
}

/** Rate at a share of the reserve: rest + share · (highest − rest). @throws ChambersideError `outside-validity`. */
export function rateOfReserve(share: number, rest: number, highest: number): number {
  const formula = 'the heart-rate reserve';
  requireWithin(share, { name: 'the share', unit: '', lowest: 0, highest: 1 }, formula, 'Give a share from 0 to 1.');
  requireThat(
    rest >= heartGates.lowest && highest > rest && highest <= heartGates.highest,
    `a resting rate of ${rest} and a highest of ${highest} leave no reserve`,
    formula,
    'Measure the resting rate again, sitting and after five minutes.',
  );
  return rest + share * (highest - rest);
}

/** Rates outside are no heart's: they count in nothing. */
const heartGates = { lowest: 30, highest: 230 } as const;

/** Heart rate in time; one element for each reading, times ascending. */
export interface HeartRecord {
  readonly seconds: Float64Array;
  readonly perMinute: Float64Array;
}

export interface HeartSummary {
  readonly mean: number;
  readonly highest: number;
  readonly lowest: number;
  /** Least-squares slope, a minute each minute. Null for readings at one moment. */
  readonly driftPerMinute: number | null;
  readonly readings: number;
  /** Readings outside 30 to 230 a minute. */
  readonly refused: number;
}

/**
 * Summary of a stretch of time, ends included. Every reading counts alike.
 * @throws ChambersideError `record-insufficient` where no reading of the stretch is a heart's.
 */
export function summarizeHeart(record: HeartRecord, fromSeconds: number, toSeconds: number): HeartSummary {
  const places: number[] = [];
  const rates: number[] = [];
  let refused = 0;
  record.seconds.forEach((second, index) => {
    if (!(second >= fromSeconds && second <= toSeconds)) return;
    const rate = record.perMinute[index] as number;
    if (!(rate >= heartGates.lowest && rate <= heartGates.highest)) {
      refused += 1;
      return;
    }
    places.push(second);
    rates.push(rate);
  });
  if (rates.length === 0) throw noHeart(`from ${fromSeconds} to ${toSeconds} s`);
  const mean = meanOf(rates);
  const middle = meanOf(places);
  const spread = places.reduce((sum, place) => sum + (place - middle) ** 2, 0);
  const together = places.reduce((sum, place, index) => sum + (place - middle) * ((rates[index] as number) - mean), 0);
  return {
    mean,
    highest: Math.max(...rates),
    lowest: Math.min(...rates),
    driftPerMinute: spread > 0 ? (60 * together) / spread : null,
    readings: rates.length,
    refused,
  };
}

/**
 * First moment at which the rate has stayed above a limit for a time without a reading at or below it; null for never.
 * Silence of more than a tenth of that time breaks the run, because nobody knows what happened in it.
 * @throws RangeError unless the time is greater than zero.
 */
export function sustainedAbove(record: HeartRecord, limit: number, holdSeconds: number): number | null {
  if (!(holdSeconds > 0)) throw new RangeError('the time that a rate must hold must be greater than zero');
  let since: number | null = null;
  let previous = Number.NEGATIVE_INFINITY;
  for (let index = 0; index < record.seconds.length; index += 1) {
    const second = record.seconds[index] as number;
    if (second - previous > holdSeconds / 10) since = null;
    previous = second;
    if (!((record.perMinute[index] as number) > limit)) since = null;
    else since ??= second;
    if (since !== null && second - since >= holdSeconds) return second;
  }
  return null;
}

export interface Recovery {
  /** Mean of the last five seconds of the effort, and of five seconds on either side of a minute later. */
  readonly atEnd: number;
  readonly afterOneMinute: number;
  readonly drop: number;
}

/** Recovery one minute after an effort. @throws ChambersideError `record-insufficient` where either has no reading. */
export function recovery(record: HeartRecord, endSeconds: number): Recovery {
  const atEnd = summarizeHeart(record, endSeconds - 5, endSeconds).mean;
  const afterOneMinute = summarizeHeart(record, endSeconds + 55, endSeconds + 65).mean;
  return { atEnd, afterOneMinute, drop: atEnd - afterOneMinute };
}

export interface BeatVariability {
  readonly intervals: number;
  /** Intervals that are no beat: outside 300 to 2000 ms, or a fifth away from both neighbours. */
  readonly refused: number;
  readonly meanPerMinute: number;
  /** Standard deviation of the intervals (n − 1), ms. */
  readonly sdnn: number;
  /** Root mean square of successive differences, ms. */
  readonly rmssd: number;
  /** Share of successive differences beyond 50 ms, percent. */
  readonly pnn50Percent: number;
}

/**
 * Variability of the intervals between beats, ms, in order. A refused interval breaks the chain: no difference is taken
 * across it.
 * @throws ChambersideError `record-insufficient` for fewer than three intervals or two differences.
 */
export function beatVariability(intervals: readonly number[]): BeatVariability {
  const counts = intervals.map((interval, index) => isBeat(interval, intervals[index - 1], intervals[index + 1]));
  const good = intervals.filter((_, index) => counts[index]);
  const differences: number[] = [];
  for (let index = 1; index < intervals.length; index += 1) {
    if (counts[index] === true && counts[index - 1] === true) {
      differences.push((intervals[index] as number) - (intervals[index - 1] as number));
    }
  }
  if (good.length < 3 || differences.length < 2) throw noHeart(`among ${intervals.length} intervals between beats`);
  const mean = meanOf(good);
  const squares = good.reduce((sum, interval) => sum + (interval - mean) ** 2, 0);
  return {
    intervals: good.length,
    refused: intervals.length - good.length,
    meanPerMinute: 60_000 / mean,
    sdnn: Math.sqrt(squares / (good.length - 1)),
    rmssd: Math.sqrt(meanOf(differences.map((difference) => difference * difference))),
    pnn50Percent: (100 * differences.filter((difference) => Math.abs(difference) > 50).length) / differences.length,
  };
}

function isBeat(interval: number, before: number | undefined, after: number | undefined): boolean {
  if (!(interval >= 300 && interval <= 2000)) return false;
  const far = (other: number | undefined): boolean => other !== undefined && Math.abs(interval / other - 1) > 0.2;
  return !(far(before) && far(after));
}

function noHeart(where: string): ChambersideError {
  return new ChambersideError(
    'record-insufficient',
    'Too few readings of the heart rate are a heart’s',
    where,
    'Check that the belt is worn, moist and in reach.',
  );
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
