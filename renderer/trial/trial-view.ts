import type { Snapshot } from '../../src/bridge/snapshot.ts';
import type { LaneView, TrialSnapshot } from '../../src/bridge/trial-snapshot.ts';
import { certifiedRig } from '../../src/leakage/certified.ts';
import { probePorts, solePort, type Port, type Rig } from '../../src/model/rig.ts';
import { limitNumber, percentNumber, significant } from '../words/numbers.ts';
import { minutesAndSeconds, trialTime } from '../words/times.ts';
import { trialWords } from '../words/trial.ts';

const second = 1_000_000;

/** Name of an exercise as the series gives it; its short name when the series is another. */
export function exerciseName(trial: TrialSnapshot, exercise: string | null): string {
  return trial.exercises.find((one) => one.exercise === exercise)?.name ?? exercise ?? '';
}

/** What was noted last: its words, or where none were written down, when it was. Empty before the first. */
export function lastMarkText({ notes }: Pick<TrialSnapshot, 'notes'>): string {
  const last = notes.findLast(({ kind }) => kind === 'mark');
  if (last === undefined) return '';
  return last.text === '' ? trialWords.lastMark(trialTime(last.atMicroseconds)) : last.text;
}

/** The large words of the lit block, and the line above them. */
export function headlineOf(trial: TrialSnapshot): { readonly above: string; readonly title: string } {
  const { now } = trial;
  const number = trial.exercises.findIndex(({ exercise }) => exercise === now.exercise) + 1;
  const name = exerciseName(trial, now.exercise);
  const exerciseLine = number > 0 ? trialWords.exerciseOf(number, trial.exercises.length) : '';
  switch (now.kind) {
    case 'exercise':
      return { above: exerciseLine, title: name };
    case 'lead-in':
      return { above: `${exerciseLine}, ${trialWords.leadIn}`, title: name };
    case 'rest':
      return {
        above: [
          number > 0 ? trialWords.restBefore(name) : '',
          now.lengthenedMicroseconds > 0 ? trialWords.longer(countUpText(0, now.lengthenedMicroseconds)) : '',
        ]
          .filter((part) => part !== '')
          .join(' · '),
        title: trialWords.stage('rest'),
      };
    case 'held':
      return {
        above: [number > 0 ? `${exerciseLine}, ${name}` : '', trialWords.heldBecause(trial.heldBecause)]
          .filter((part) => part !== '')
          .join(' · '),
        title: trialWords.stage('held'),
      };
    case 'stopped': {
      // Whose hand it was matters now; that it stopped is said already.
      const why = trial.reason === null || trial.reason === 'stopped' ? '' : trial.reason;
      return { above: why, title: trialWords.stage('stopped') };
    }
    default:
      return { above: '', title: trialWords.stage(now.kind) };
  }
}

/**
 * Figures of the countdown: the second that is left, so that `0:01` stands while there is between 0 and 1 s to go.
 * @param until µs. @param at µs, now.
 */
export function countdownText(until: number, at: number): string {
  return minutesAndSeconds(Math.max(0, Math.ceil((until - at) / second)));
}

/** Figures of a count up: the second that has begun. */
export function countUpText(since: number, at: number): string {
  return minutesAndSeconds(Math.max(0, Math.floor((at - since) / second)));
}

/** Age as it is shown beside a value. */
export function ageText(from: number, at: number): string {
  return countUpText(from, at);
}

/** The port that the air now comes from, as the program means it. */
export function portNow(trial: TrialSnapshot, rig: Rig | null): Port | null {
  return rig?.ports.find(({ port }) => port === trial.now.port) ?? null;
}

/** The value of a lane as text, without its unit; null when there is none to show. */
export function laneValue(lane: LaneView): string | null {
  if (lane.state === 'no-result' || lane.windowPercent === null) return null;
  if (lane.belowDetectionLimit && lane.detectionLimitPercent !== null) {
    return `<\u00a0${limitNumber(lane.detectionLimitPercent, 2)}`;
  }
  return percentNumber(lane.windowPercent);
}

/** The interval of the air that was seen, as text; null while none is worked out. */
export function laneInterval(lane: LaneView): string | null {
  const { windowLowPercent: low, windowHighPercent: high } = lane;
  if (lane.state === 'no-result' || lane.state === 'not-yet' || low === null || high === null) return null;
  // Signed where they are kept; nobody has use for a leakage below zero on a screen.
  return `${percentNumber(Math.max(0, low))} – ${percentNumber(Math.max(0, high))}`;
}

/** How much of the air has been seen, or why there is no value. */
export function laneSeen(lane: LaneView): string {
  if (lane.state === 'no-result') return lane.detail ?? trialWords.noResult;
  if (lane.state === 'not-yet') return '';
  if (lane.state === 'measuring' || lane.state === 'settling') {
    return trialWords.usable(lane.usableSeconds, lane.usableSecondsPlanned);
  }
  return lane.usableSecondsPlanned > 0 && lane.usableSeconds < lane.usableSecondsPlanned * 0.9
    ? trialWords.moreSeconds(lane.usableSecondsPlanned - lane.usableSeconds)
    : trialWords.enough;
}

/**
 * What turns a raw reading at a probe into percent of the challenge for the picture: zero, span and the port's
 * dilution and losses. Null before the first zero and reference. The result table is worked out elsewhere.
 */
export interface ReadingScale {
  readonly zero: number;
  readonly percentPerReading: ReadonlyMap<string, number>;
}

export function readingScale(trial: TrialSnapshot, stated: Rig | null): ReadingScale | null {
  if (stated === null || trial.challenge === null || trial.filteredAir === null) return null;
  const { linearity, rig } = certifiedRig(stated, trial.header.certificates);
  const zero = trial.filteredAir.meanReading;
  const reference = solePort(rig, 'reference');
  const span =
    (((trial.challenge.meanReading - zero) * reference.dilution.value * rig.spatialFactor.value) /
    reference.penetration.value) *
    (linearity?.value ?? 1);
  if (!(span > 0)) return null;
  return {
    zero,
    percentPerReading: new Map(
      probePorts(rig).map((port) => [port.probe, (100 * port.dilution.value) / (port.penetration.value * span)]),
    ),
  };
}

/** Index of a stream of the open rig, or null. */
export function streamIndex(snapshot: Snapshot, instrument: string | null, stream: string | null): number | null {
  if (instrument === null) return null;
  const index = snapshot.rig.streams.findIndex(
    (one) => one.instrument === instrument && (stream === null || one.stream === stream),
  );
  return index < 0 ? null : index;
}

/** The stream that carries the photometer's reading. */
export function photometerStream(snapshot: Snapshot): number | null {
  const { rig } = snapshot.rig;
  return rig === null ? null : streamIndex(snapshot, rig.photometer, rig.photometerStream);
}

/** Whether the photometer's values are old ones: it does not talk. */
export function photometerStale({ rig }: Snapshot): boolean {
  return rig.instruments.some(({ instrument, state }) => instrument === rig.rig?.photometer && state !== 'live');
}

/** The stream that carries the heart rate: the belt's one in beats a minute. */
export function heartRateStream(snapshot: Snapshot): number | null {
  const belt = snapshot.rig.rig?.heartRate ?? null;
  const index = snapshot.rig.streams.findIndex(({ instrument, unit }) => instrument === belt && unit === 'per-minute');
  return belt === null || index < 0 ? null : index;
}

/** How far the newest value of a stream can be taken for what is now. */
export type Freshness = 'fresh' | 'old' | 'none';

/** A value that should have been followed half an interval ago is old; the silence limit takes it away. */
const oldAfterIntervals = 1.5;

/**
 * @param ageSeconds of the newest value, without what is on its way; null when there is none
 * @param intervalSeconds in which values are expected; null when they come as they come
 * @param silenceSeconds after which it counts as silent
 */
export function freshness(
  ageSeconds: number | null,
  intervalSeconds: number | null,
  silenceSeconds: number,
): Freshness {
  if (ageSeconds === null || ageSeconds > silenceSeconds) return 'none';
  return ageSeconds > oldAfterIntervals * (intervalSeconds ?? Number.POSITIVE_INFINITY) ? 'old' : 'fresh';
}

/** A concentration with the figures that its resolution allows. */
export function readingText(value: number, resolution: number | undefined): string {
  const size = Math.abs(value);
  const figures =
    resolution === undefined || size === 0 ? 3 : Math.floor(Math.log10(Math.max(size / resolution, 1))) + 1;
  return significant(value, Math.max(1, Math.min(3, figures)));
}
