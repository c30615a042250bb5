import type { Port } from '../model/rig.ts';
import type { TrialRecord } from '../model/trial-record.ts';
import { streamOf } from '../model/trial-record.ts';
import type { Method } from '../model/method.ts';
import { toSeconds } from '../model/time.ts';
import { commonDelayMicroseconds } from './alignment.ts';
import { breathFlowOf } from './breathing-zone.ts';
import type { CertifiedInput } from './certified.ts';
import { certifiedRig } from './certified.ts';
import { flagsOf } from './doubt.ts';
import { problemsOfReadings, readDwell, wasRead } from './dwell-reading.ts';
import type { ReadDwell, ReadingContext } from './dwell-reading.ts';
import { orderFlags } from './flag.ts';
import type { Flag } from './flag.ts';
import { assessPart } from './part.ts';
import { provisionalUncertainty } from './provisional-interval.ts';
import { prepareReadings } from './readings.ts';
import { recordedDwells } from './recorded-dwell.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { noSettledAir, settleAir } from './settled-air.ts';
import type { SettledAir } from './settled-air.ts';
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
  /**
   * 95 % interval of the air seen, signed. Null where the budget lacks something: before the third zero and the third
   * reference.
   */
  readonly windowLowPercent: number | null;
  readonly windowHighPercent: number | null;
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
  /** All of them with their backgrounds, for values and intervals. */
  readonly air: SettledAir;
  /** By probe. */
  readonly leakages: Readonly<Record<string, ProvisionalLeakage>>;
}

/** Reading a dwell of a trial under way. */
export interface ProvisionalContext extends ReadingContext {
  /** What the certificates of the trial give, for their degrees of freedom. */
  readonly certified: readonly CertifiedInput[];
}

/** Doubts about inputs of a value that is still to change: they come with the assessment, when no dwell is missing. */
const shownFlags: ReadonlySet<Flag> = new Set<Flag>([
  ...(['flat-signal', 'no-zero', 'no-reference', 'no-background'] as const),
  ...(['below-detection-limit', 'below-zero', 'no-breathing', 'breathing-doubtful'] as const),
]);

export function beginProvisional(): ProvisionalState {
  return {
    zero: null,
    reference: null,
    firstReference: null,
    firstReferenceZero: null,
    air: noSettledAir,
    leakages: {},
  };
}

/**
 * Takes in a dwell whose air has been read to its end. Values and budget are those of the assessment, of what there is
 * so far: zero and reference are held from the newest ones, where the assessment will interpolate between neighbours,
 * so the assessed value differs by what they drift in between.
 * @param context with readings that reach from a second before the dwell's request to the end of its window.
 */
export function takeDwell(
  state: ProvisionalState,
  context: ProvisionalContext,
  recorded: RecordedDwell,
): ProvisionalState {
  const { purpose, stage, probe } = recorded.dwell;
  if (purpose === 'probe') {
    return { ...state, leakages: { ...state.leakages, [probe]: provisionalLeakage(state, context, recorded) } };
  }
  // During entry the challenge still builds up: a mean over it belongs to no moment.
  if (purpose === 'reference' && stage === 'entry') return state;
  const dwell = readDwell(context, recorded);
  if (!wasRead(dwell)) return state;
  const mean = settledMean(dwell);
  const air = settleAir(state.air, context, dwell, context.certified);
  switch (purpose) {
    case 'zero':
      return { ...state, air, zero: mean };
    case 'reference':
      if (state.firstReference !== null) return { ...state, air, reference: mean };
      return { ...state, air, reference: mean, firstReference: mean, firstReferenceZero: state.zero };
    case 'background':
      return { ...state, air };
  }
}

/** The leakage that a probe dwell shows so far, or in the end. Pure; `state` as it is without this dwell. */
export function provisionalLeakage(
  state: ProvisionalState,
  context: ProvisionalContext,
  recorded: RecordedDwell,
): ProvisionalLeakage {
  const dwell = readDwell(context, recorded);
  const under = { dwell: recorded.dwell.dwell, exercise: recorded.dwell.exercise };
  const { known } = state.air;
  if (!wasRead(dwell)) {
    return { ...under, ...nothing, flags: flagsOf(dwell.doubts) };
  }
  const seen = {
    measuredToMicroseconds: dwell.mean.toMicroseconds,
    usableSeconds: toSeconds(Math.max(0, dwell.mean.toMicroseconds - dwell.mean.fromMicroseconds)),
  };
  const flags = new Set<Flag>(flagsOf(dwell.doubts));
  if (known === null) {
    for (const flag of ['no-zero', 'no-reference'] as const) flags.add(flag);
    if (context.method.subtractBackground) flags.add('no-background');
    return { ...under, ...nothing, ...seen, flags: orderFlags(flags) };
  }
  const { freedom, inputs } = known;
  const part = assessPart(context, inputs, dwell);
  const { detectionLimitPercent, windowPercent } = part.shown;
  for (const flag of part.shown.flags) if (shownFlags.has(flag)) flags.add(flag);
  if (windowPercent !== null && detectionLimitPercent !== null && windowPercent < detectionLimitPercent) {
    flags.add('below-detection-limit');
  }
  const doubtful = provisionalUncertainty(context, inputs, freedom, part);
  return {
    ...under,
    ...seen,
    windowPercent,
    windowLowPercent: doubtful?.lowPercent ?? null,
    windowHighPercent: doubtful?.highPercent ?? null,
    detectionLimitPercent,
    flags: orderFlags(flags),
  };
}

const nothing = {
  windowPercent: null,
  windowLowPercent: null,
  windowHighPercent: null,
  detectionLimitPercent: null,
  measuredToMicroseconds: null,
  usableSeconds: 0,
};

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
  const { inputs: certified, linearity, rig } = certifiedRig(record.rig, record.header.certificates);
  const stream = streamOf(record, rig.photometer, rig.photometerStream);
  let state = beginProvisional();
  if (stream === undefined || stream.values.length === 0) return state;
  const problemsAtMicroseconds: number[] = [];
  for (const event of record.events) {
    if (event.kind !== 'problem' || event.problem.instrument !== rig.photometer) continue;
    if (problemsOfReadings.has(event.problem.code)) problemsAtMicroseconds.push(event.problem.atMicroseconds);
  }
  const readings = prepareReadings(stream);
  const breathFlow = breathFlowOf(record, rig);
  const context: ProvisionalContext = {
    ...{ rig, method, readings, segments: record.segments, problemsAtMicroseconds, certified },
    ...(linearity === undefined ? {} : { linearity }),
    ...(breathFlow === undefined ? {} : { breathFlow }),
  };
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
