import { blankScatter } from '../calibration/blank-scatter.ts';
import type { Blank, BlankScatter } from '../calibration/blank-scatter.ts';
import type { Method } from '../model/method.ts';
import type { ProblemCode } from '../model/reading.ts';
import type { Port, Rig, Stated } from '../model/rig.ts';
import { segmentAt, toSeconds } from '../model/time.ts';
import type { TimeSegment } from '../model/time.ts';
import type { StreamRecord } from '../model/trial-record.ts';
import { commonDelayMicroseconds, probeTime } from './alignment.ts';
import type { DwellMean } from './assessment.ts';
import { breathedInWindow } from './breathing-zone.ts';
import type { BreathedWindow } from './breathing-zone.ts';
import { carryOver, carryOverBound } from './carry-over.ts';
import { doubt, figure, flagsOf } from './doubt.ts';
import type { Doubt } from './doubt.ts';
import { doubtsOfDwell, wrongPort } from './dwell-doubts.ts';
import { fewestWindowReadings, lagCorrectedMean, lengthOfMean, meanOfMeans, plainMean } from './lag.ts';
import type { WindowMean } from './lag.ts';
import { keptSpans, leastShareLeft, readingsIn } from './left-out.ts';
import type { LeftOut } from './left-out.ts';
import { meanWithin, scatterOf, within } from './readings.ts';
import type { Readings, Span } from './readings.ts';
import type { RecordedDwell } from './recorded-dwell.ts';
import { guardMicroseconds, usableWindow } from './window.ts';
import type { UsableWindow } from './window.ts';

/** What reading a dwell needs to know of its trial. */
export interface ReadingContext {
  readonly rig: Rig;
  readonly method: Method;
  readonly readings: Readings;
  readonly segments: readonly TimeSegment[];
  /** Arrival of everything that the photometer sent and that could not be used, µs. */
  readonly problemsAtMicroseconds: readonly number[];
  /**
   * Settling of each dwell by its number, s, where it was adapted to what was read; carry-over is then the most that it
   * can be. Absent: the method's fixed seconds, also for a dwell that is not in it.
   */
  readonly settlingSeconds?: ReadonlyMap<number, number>;
  /** Of the photometer, by certificate (`CertifiedRig`); absent: taken as linear. */
  readonly linearity?: Stated;
  /** Flow of the subject's breath, for probes in the breathing zone; absent: there is none, or none is needed. */
  readonly breathFlow?: StreamRecord;
  /** Stretches that a reviewer leaves out of every mean; absent: none. */
  readonly leftOut?: readonly LeftOut[];
}

/** Readings of a window that follow each other, and their own mean. */
export interface Piece extends Span {
  readonly mean: WindowMean;
}

/** A dwell that has a window, read, before anything is known about noise. */
export interface ReadDwell {
  readonly recorded: RecordedDwell;
  readonly port: Port;
  readonly window: UsableWindow;
  /** When the valve was asked to leave the port: the event, or the end of the record; µs. */
  readonly releasedMicroseconds: number;
  readonly settlingSeconds: number;
  /** True when the window ends with the last reading before a break in time. */
  readonly cutByLoss: boolean;
  /** From the first reading to the last one that is used. */
  readonly span: Span;
  /** What is used of it, in order of time: one piece, several where a stretch inside it is left out. */
  readonly pieces: readonly Piece[];
  /** Over all pieces. */
  readonly mean: WindowMean;
  /** Reading just before this port's air arrived, minus the mean; null when nothing tells. */
  readonly step: number | null;
  readonly carryOver: number;
  /** Standard deviation of the window's readings about their mean. */
  readonly scatter: number;
  /** In the breathing zone, how the subject breathed meanwhile, or why nobody knows; null elsewhere. */
  readonly breathed: BreathedWindow | Doubt | null;
  /** Index of the time segment in which the window begins. */
  readonly segment: number;
  readonly doubts: readonly Doubt[];
}

/** A dwell without a usable window, and why. */
export interface UnreadDwell {
  readonly recorded: RecordedDwell;
  readonly doubts: readonly Doubt[];
}

/** Problems that stand for readings which are missing or which the photometer itself calls bad. */
export const problemsOfReadings: ReadonlySet<ProblemCode> = new Set<ProblemCode>([
  'line-undecodable',
  'line-too-long',
  'line-incomplete',
  'checksum-wrong',
  'status-bad',
  'payload-malformed',
  'reading-out-of-range',
]);

/** A signal that scatters less than this share of filtered air is flat. */
const flatShare = 0.1;

/** Fewer readings than this cannot be called flat. */
const fewestFlatReadings = 10;

/** Reads one dwell: window, mean, carry-over, and every doubt that the dwell by itself gives rise to. */
export function readDwell(context: ReadingContext, recorded: RecordedDwell): ReadDwell | UnreadDwell {
  const { rig, readings } = context;
  const { dwell } = recorded.dwell;
  const refuse = (reason: Doubt): UnreadDwell => ({ recorded, doubts: [reason] });
  const port = rig.ports.find((candidate) => candidate.port === recorded.dwell.port);
  if (port === undefined || recorded.port === 'wrong') return refuse(wrongPort(recorded));
  if (recorded.port === 'unconfirmed' || recorded.acknowledgedAtMicroseconds === null)
    return refuse(doubt('port-unconfirmed', dwell, "the valve's last word on the dwell confirms no port"));

  const settlingSeconds = settlingOf(context, recorded);
  const { planned, released, window } = windowAfter(context, recorded, port, settlingSeconds);
  if (window === null) {
    const flag = recorded.complete ? 'unsettled' : 'incomplete';
    return refuse(doubt(flag, dwell, 'settling and guard leave nothing of the dwell'));
  }
  const whole = within(readings, window);
  const count = whole.end - whole.first;
  if (count < fewestWindowReadings)
    return refuse(doubt('gap', dwell, 'readings in the window', figure(count, fewestWindowReadings, 'readings')));

  const spans = keptSpans(context, port, whole);
  const kept = readingsIn(spans);
  const [firstSpan] = spans;
  if (firstSpan === undefined || kept < leastShareLeft * count) {
    const left = figure(kept, Math.ceil(leastShareLeft * count), 'readings');
    return refuse(doubt('left-out', dwell, 'readings of the window that are not left out', left));
  }
  const span = { first: firstSpan.first, end: spans.at(-1)?.end ?? firstSpan.end };
  const pieces = spans.map((piece) => ({ ...piece, mean: meanOf(context, piece) }));
  // Lines that came in one chunk have one stamp: a window of one chunk stands for no time, and tells nothing.
  if (!pieces.every((piece) => piece.mean.toMicroseconds > piece.mean.fromMicroseconds))
    return refuse(doubt('gap', dwell, 'all readings of the window came at one moment'));
  const mean = meanOfMeans(pieces.map((piece) => piece.mean));
  const step = stepBefore(context, recorded, mean.corrected);
  return {
    recorded,
    port,
    window,
    releasedMicroseconds: released,
    settlingSeconds,
    cutByLoss: window !== planned,
    span,
    pieces,
    mean,
    step,
    carryOver: leftInPieces(context, step, window.arrivalMicroseconds, pieces),
    scatter: scatterOf(readings.values, pieces),
    breathed: breathedInWindow(context, dwell, port, pieces),
    segment: segmentAt(context.segments, recorded.acknowledgedAtMicroseconds),
    doubts: doubtsOfDwell(context, recorded, port, window, pieces, count - kept),
  };
}

/** Time after the arrival of a dwell's air that is not used, s. */
function settlingOf({ method, settlingSeconds }: ReadingContext, { dwell }: RecordedDwell): number {
  const fixed = dwell.purpose === 'zero' ? method.zeroSettlingSeconds : method.settling.seconds;
  return settlingSeconds?.get(dwell.dwell) ?? fixed;
}

/**
 * The window that a settling time leaves of a dwell whose port was confirmed: as planned, and as far as it was read
 * before a break in time; null where nothing is left.
 */
export function windowAfter(
  context: ReadingContext,
  recorded: RecordedDwell,
  port: Port,
  settlingSeconds: number,
): { readonly planned: UsableWindow | null; readonly window: UsableWindow | null; readonly released: number } {
  const { method, readings, rig } = context;
  const lastArrival = readings.atMicroseconds[readings.atMicroseconds.length - 1] ?? 0;
  const released = recorded.releasedAtMicroseconds ?? lastArrival - commonDelayMicroseconds(rig);
  const acknowledged = recorded.acknowledgedAtMicroseconds;
  const planned =
    acknowledged === null
      ? null
      : usableWindow(rig, port, acknowledged, released, {
          settlingSeconds,
          guardDispersions: method.guardDispersions,
        });
  return { planned, released, window: planned === null ? null : withoutLostAir(context, planned, released) };
}

/**
 * What the port before may have left in a mean, signed, in the unit of the readings: estimated by the time constant's
 * standard uncertainty, or where settling is adapted, the most that it can be.
 * @param step reading just before this port's air arrived, minus the mean; null: nothing tells, and nothing is left.
 */
export function leftOfPortBefore(
  context: ReadingContext,
  step: number | null,
  arrivalMicroseconds: number,
  span: Span,
  mean: WindowMean,
): number {
  const { method, readings, rig, settlingSeconds } = context;
  const windowSeconds = toSeconds(mean.toMicroseconds - mean.fromMicroseconds);
  if (step === null || windowSeconds <= 0) return 0;
  const adapted = settlingSeconds !== undefined;
  // The ends of the mean are spread over several readings: the first of them has settled the least.
  const first = readings.atMicroseconds[span.first] ?? mean.fromMicroseconds;
  const from = adapted ? Math.min(first, mean.fromMicroseconds) : mean.fromMicroseconds;
  return (adapted ? carryOverBound : carryOver)(
    step,
    rig.timeConstantSeconds,
    rig.commonDispersionSeconds,
    toSeconds(from - arrivalMicroseconds),
    windowSeconds,
    method.lagCorrection,
  );
}

/** The same of the mean over several pieces: the later ones have had longer to settle. */
export function leftInPieces(
  context: ReadingContext,
  step: number | null,
  arrivalMicroseconds: number,
  pieces: readonly Piece[],
): number {
  const [first] = pieces;
  if (first === undefined) return 0;
  if (pieces.length === 1) return leftOfPortBefore(context, step, arrivalMicroseconds, first, first.mean);
  let length = 0;
  let left = 0;
  for (const piece of pieces) {
    const weight = lengthOfMean(piece.mean);
    length += weight;
    left += weight * leftOfPortBefore(context, step, arrivalMicroseconds, piece, piece.mean);
  }
  return length > 0 ? left / length : 0;
}

/** Mean of readings that follow each other as the method wants it. */
export function meanOf(context: ReadingContext, span: Span): WindowMean {
  const { method, readings, rig } = context;
  return method.lagCorrection
    ? lagCorrectedMean(
        readings.atMicroseconds,
        readings.values,
        span.first,
        span.end,
        rig.timeConstantSeconds.value,
        method.lagEndSeconds,
      )
    : plainMean(readings.atMicroseconds, readings.values, span.first, span.end);
}

/** Scatter of filtered air over the zero dwells of a trial. */
export function scatterOfZeros(context: ReadingContext, zeros: readonly ReadDwell[]): BlankScatter | null {
  const blanks = zeros.flatMap(({ pieces }) =>
    pieces.map(({ end, first }): Blank => {
      const at = context.readings.atMicroseconds.subarray(first, end);
      const origin = at[0] ?? 0;
      return {
        seconds: at.map((microseconds) => toSeconds(microseconds - origin)),
        values: context.readings.values.subarray(first, end),
      };
    }),
  );
  return blankScatter(blanks, context.rig.timeConstantSeconds.value);
}

/**
 * Standard uncertainty of a single reading. It is never taken to be better than the rectangle of its resolution:
 * readings coarser than their noise may not scatter at all.
 */
export function singleReadingNoise(blank: BlankScatter, resolution: number): number {
  return Math.max(blank.standardDeviation, resolution / Math.sqrt(12));
}

/** Standard uncertainty that blank scatter gives to a weighted mean. */
export function noiseOf(blank: BlankScatter, resolution: number, squaredWeights: number): number {
  return singleReadingNoise(blank, resolution) * Math.sqrt(blank.autocorrelationSum * squaredWeights);
}

/**
 * Is the signal quieter than filtered air through the same photometer? Where the noise of filtered air drowns in
 * the resolution, only air that must carry aerosol can be called flat, and only when it does not move at all.
 */
export function isFlat(dwell: ReadDwell, blank: BlankScatter | null, resolution: number): boolean {
  if (dwell.mean.readings < fewestFlatReadings) return false;
  const noise = blank?.standardDeviation ?? 0;
  if (noise > resolution / Math.sqrt(12)) return dwell.scatter < flatShare * noise;
  const { purpose } = dwell.recorded.dwell;
  return (purpose === 'probe' || purpose === 'reference') && dwell.scatter === 0;
}

/** The public face of a dwell that was read. */
export function dwellMean(dwell: ReadDwell, context: ReadingContext, blank: BlankScatter | null): DwellMean {
  const { mean, pieces, port, recorded } = dwell;
  return {
    dwell: recorded.dwell.dwell,
    purpose: recorded.dwell.purpose,
    port: port.port,
    probe: port.probe,
    arrivalFromMicroseconds: mean.fromMicroseconds,
    arrivalToMicroseconds: mean.toMicroseconds,
    probeFromMicroseconds: probeTime(mean.fromMicroseconds, context.rig, port),
    probeToMicroseconds: probeTime(mean.toMicroseconds, context.rig, port),
    ...(pieces.length === 1
      ? {}
      : {
          pieces: pieces.map((piece) => ({
            arrivalFromMicroseconds: piece.mean.fromMicroseconds,
            arrivalToMicroseconds: piece.mean.toMicroseconds,
          })),
        }),
    readings: mean.readings,
    meanReading: mean.mean,
    lagTerm: mean.lagTerm,
    correctedReading: mean.corrected,
    noiseReading: blank === null ? null : noiseOf(blank, context.readings.resolution, mean.squaredWeights),
    carryOverReading: dwell.carryOver,
    complete: recorded.complete,
    flags: flagsOf(dwell.doubts),
  };
}

/** Narrowing guard: does the dwell have a window? */
export function wasRead(dwell: ReadDwell | UnreadDwell): dwell is ReadDwell {
  return 'mean' in dwell;
}

/**
 * A first-order instrument forgets everything but its present reading, so the step that decays in a window is the
 * reading at the moment when the previous port's air ends, minus the window's mean.
 */
function stepBefore(context: ReadingContext, recorded: RecordedDwell, mean: number): number | null {
  const { method, readings, rig } = context;
  const to =
    recorded.requestedAtMicroseconds + commonDelayMicroseconds(rig) - guardMicroseconds(rig, method.guardDispersions);
  const level = meanWithin(readings, { fromMicroseconds: to - method.lagEndSeconds * 1e6, toMicroseconds: to });
  return level === null ? null : level - mean;
}

/**
 * A host that is lost takes with it the air that was on its way from the valve. A dwell that was over by then keeps
 * the window that was read: it ends with the last reading before the break.
 */
function withoutLostAir(context: ReadingContext, window: UsableWindow, released: number): UsableWindow {
  const { readings, segments } = context;
  const next = segments.find(({ beginsAtMicroseconds }) => beginsAtMicroseconds > released);
  if (next === undefined) return window;
  const { end } = within(readings, { fromMicroseconds: released, toMicroseconds: next.beginsAtMicroseconds });
  const last = readings.atMicroseconds[end - 1];
  if (last === undefined) return window;
  const readUntil = last + readings.intervalMicroseconds;
  const cut = released <= readUntil && window.fromMicroseconds < readUntil && readUntil < window.toMicroseconds;
  return cut ? { ...window, toMicroseconds: readUntil } : window;
}
