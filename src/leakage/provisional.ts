import { blankScatter } from '../calibration/blank-scatter.ts';
import type { Blank } from '../calibration/blank-scatter.ts';
import { solePort } from '../model/rig.ts';
import type { Port } from '../model/rig.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { streamOf } from '../model/trial-record.ts';
import type { Method } from '../model/method.ts';
import { toSeconds } from '../model/time.ts';
import { commonDelayMicroseconds } from './alignment.ts';
import { flagsOf } from './doubt.ts';
import { isFlat, noiseOf, problemsOfReadings, readDwell, wasRead } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { orderFlags } from './flag.ts';
import type { Flag } from './flag.ts';
import { inwardLeakagePercent, leakageFactors, percentPerReading } from './inward-leakage.ts';
import { limitFactor } from './limit-factor.ts';
import { prepareReadings } from './readings.ts';
import { recordedDwells } from './recorded-dwell.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { guardMicroseconds, usableWindow } from './window.ts';
import type { UsableWindow } from './window.ts';

/** A settled mean and when its air was measured. Unit of the photometer stream. */
export interface SettledMean {
  readonly dwell: number;
  readonly reading: number;
  /** Σ w² of its weights, for noise. */
  readonly squaredWeights: number;
  /** End of its window, arrival time, µs. */
  readonly toMicroseconds: number;
}

/** The newest leakage of one probe. Percent of the challenge. */
export interface ProvisionalLeakage {
  readonly dwell: number;
  readonly exercise: string | null;
  /** Null when a number cannot be given; the flags say why. Signed, also below the detection limit. */
  readonly windowPercent: number | null;
  readonly detectionLimitPercent: number | null;
  /** End of the usable air seen, arrival time, µs; null when there was none. */
  readonly measuredToMicroseconds: number | null;
  /** Length of the usable air seen, s. */
  readonly usableSeconds: number;
  readonly flags: readonly Flag[];
}

/**
 * What a trial under way knows of its leakage so far: the newest settled zero and reference, the backgrounds, and a
 * value for each probe. Plain data; replaced, never changed.
 */
export interface ProvisionalState {
  readonly zero: SettledMean | null;
  readonly reference: SettledMean | null;
  readonly firstReference: SettledMean | null;
  /** Zero when the first reference was read, to compare net readings. */
  readonly firstReferenceZero: SettledMean | null;
  /** Net reading by port number, against the zero that was newest then. */
  readonly backgrounds: Readonly<Record<number, number>>;
  /** Filtered air of the last zeros, for the scatter of a reading. */
  readonly blanks: readonly Blank[];
  /** By probe. */
  readonly leakages: Readonly<Record<string, ProvisionalLeakage>>;
}

/** Zeros whose scatter is pooled; enough for a stable detection limit, few enough to be quick. */
const mostBlanks = 4;

export function beginProvisional(): ProvisionalState {
  return {
    zero: null,
    reference: null,
    firstReference: null,
    firstReferenceZero: null,
    backgrounds: {},
    blanks: [],
    leakages: {},
  };
}

/**
 * Takes in a dwell whose air has been read to its end. Windows, settling and lag correction are those of the
 * assessment; zero and reference are the newest ones before, where the assessment interpolates between neighbours,
 * so the assessed value differs by what they drift in between.
 * @param context with readings that reach from a second before the dwell's request to the end of its window.
 */
export function takeDwell(state: ProvisionalState, context: ReadingContext, recorded: RecordedDwell): ProvisionalState {
  const { purpose, stage, probe } = recorded.dwell;
  if (purpose === 'probe') {
    return { ...state, leakages: { ...state.leakages, [probe]: provisionalLeakage(state, context, recorded) } };
  }
  // During entry the challenge still builds up: a mean over it belongs to no moment.
  if (purpose === 'reference' && stage === 'entry') return state;
  const dwell = readDwell(context, recorded);
  if (!wasRead(dwell)) return state;
  const mean = settledMean(dwell);
  switch (purpose) {
    case 'zero':
      return { ...state, zero: mean, blanks: [...state.blanks, blankOf(context, dwell)].slice(-mostBlanks) };
    case 'reference':
      if (state.firstReference !== null) return { ...state, reference: mean };
      return { ...state, reference: mean, firstReference: mean, firstReferenceZero: state.zero };
    case 'background': {
      if (state.zero === null) return state;
      const net = mean.reading - state.zero.reading;
      return { ...state, backgrounds: { ...state.backgrounds, [dwell.port.port]: net } };
    }
  }
}

/** The leakage that a probe dwell shows so far, or in the end. Pure; `state` as it is without this dwell. */
export function provisionalLeakage(
  state: ProvisionalState,
  context: ReadingContext,
  recorded: RecordedDwell,
): ProvisionalLeakage {
  const { method, rig } = context;
  const dwell = readDwell(context, recorded);
  const under = { dwell: recorded.dwell.dwell, exercise: recorded.dwell.exercise };
  if (!wasRead(dwell)) {
    return {
      ...under,
      windowPercent: null,
      detectionLimitPercent: null,
      measuredToMicroseconds: null,
      usableSeconds: 0,
      flags: flagsOf(dwell.doubts),
    };
  }
  const reference = solePort(rig, 'reference');
  const factors = leakageFactors(rig, method, dwell.port, reference, context.linearity);
  const flags = new Set<Flag>(flagsOf(dwell.doubts));
  const { zero } = state;
  const background = method.subtractBackground ? (state.backgrounds[dwell.port.port] ?? null) : 0;
  const scale =
    zero === null || state.reference === null
      ? null
      : percentPerReading(state.reference.reading - zero.reading, factors);
  if (zero === null) flags.add('no-zero');
  if (scale === null) flags.add('no-reference');
  if (background === null) flags.add('no-background');
  const blank = state.blanks.length === 0 ? null : blankScatter(state.blanks, rig.timeConstantSeconds.value);
  if (isFlat(dwell, blank, context.readings.resolution)) flags.add('flat-signal');

  const noise = (mean: { readonly squaredWeights: number }): number =>
    blank === null ? 0 : noiseOf(blank, context.readings.resolution, mean.squaredWeights);
  const detectionLimitPercent =
    blank === null || zero === null || scale === null
      ? null
      : // The background and the zero before it are about as noisy as this window and its zero.
        limitFactor(method, blank) *
        scale *
        Math.hypot(noise(dwell.mean), noise(zero)) *
        (method.subtractBackground ? Math.SQRT2 : 1);
  const usable = zero !== null && scale !== null && background !== null && !flags.has('flat-signal');
  const windowPercent = usable ? inwardLeakagePercent(dwell.mean.corrected, zero.reading, background, scale) : null;
  if (windowPercent !== null && detectionLimitPercent !== null) {
    if (windowPercent < detectionLimitPercent) flags.add('below-detection-limit');
    if (windowPercent < -detectionLimitPercent) flags.add('below-zero');
  }
  return {
    ...under,
    windowPercent,
    detectionLimitPercent,
    measuredToMicroseconds: dwell.mean.toMicroseconds,
    usableSeconds: toSeconds(Math.max(0, dwell.mean.toMicroseconds - dwell.mean.fromMicroseconds)),
    flags: orderFlags(flags),
  };
}

/** Change of the newest net reference against the first, percent; null before there are two. */
export function challengeChangePercent(state: ProvisionalState): number | null {
  const { firstReference: first, reference: last, firstReferenceZero, zero } = state;
  if (first === null || last === null || first.dwell === last.dwell) return null;
  const before = first.reading - (firstReferenceZero?.reading ?? 0);
  const after = last.reading - (zero?.reading ?? 0);
  return before > 0 ? (100 * (after - before)) / before : null;
}

/** The window of a dwell that was acknowledged and will be released at a given moment; null when too short. */
export function plannedWindow(
  context: Pick<ReadingContext, 'rig' | 'method'>,
  port: Port,
  purpose: RecordedDwell['dwell']['purpose'],
  acknowledgedMicroseconds: number,
  releasedMicroseconds: number,
): UsableWindow | null {
  const { method, rig } = context;
  return usableWindow(rig, port, acknowledgedMicroseconds, releasedMicroseconds, {
    settlingSeconds: purpose === 'zero' ? method.zeroSettlingSeconds : method.settling.seconds,
    guardDispersions: method.guardDispersions,
  });
}

/** Arrival time by which all air of a dwell that was released then has been read, µs. */
export function readByMicroseconds(
  context: Pick<ReadingContext, 'rig' | 'method'>,
  releasedMicroseconds: number,
): number {
  const { method, rig } = context;
  return releasedMicroseconds + commonDelayMicroseconds(rig) - guardMicroseconds(rig, method.guardDispersions);
}

/** What a trial under way would know at the end of this record: for taking it up again. */
export function provisionalOfRecord(record: TrialRecord, method: Method): ProvisionalState {
  const { rig } = record;
  const stream = streamOf(record, rig.photometer, rig.photometerStream);
  let state = beginProvisional();
  if (stream === undefined || stream.values.length === 0) return state;
  const problemsAtMicroseconds: number[] = [];
  for (const event of record.events) {
    if (event.kind !== 'problem' || event.problem.instrument !== rig.photometer) continue;
    if (problemsOfReadings.has(event.problem.code)) problemsAtMicroseconds.push(event.problem.atMicroseconds);
  }
  const readings = prepareReadings(stream);
  const context: ReadingContext = { rig, method, readings, segments: record.segments, problemsAtMicroseconds };
  for (const dwell of recordedDwells(record.events)) state = takeDwell(state, context, dwell);
  return state;
}

function settledMean(dwell: ReadDwell): SettledMean {
  return {
    dwell: dwell.recorded.dwell.dwell,
    reading: dwell.mean.corrected,
    squaredWeights: dwell.mean.squaredWeights,
    toMicroseconds: dwell.mean.toMicroseconds,
  };
}

function blankOf(context: ReadingContext, dwell: ReadDwell): Blank {
  const { first, end } = dwell.span;
  const at = context.readings.atMicroseconds.subarray(first, end);
  const origin = at[0] ?? 0;
  return {
    seconds: Float64Array.from(at, (microseconds) => toSeconds(microseconds - origin)),
    values: context.readings.values.slice(first, end),
  };
}
