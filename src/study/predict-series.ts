import type { BlankScatter } from '../calibration/blank-scatter.ts';
import { noiseOf } from '../leakage/dwell-reading.ts';
import { slicePercentOf } from '../leakage/budget/slice.ts';
import type { SliceScatter } from '../leakage/budget/slice.ts';
import { leakageFactors, percentPerReading } from '../leakage/inward-leakage.ts';
import { fewestWindowReadings, lagCorrectedMean, plainMean } from '../leakage/lag.ts';
import { limitFactor } from '../leakage/limit-factor.ts';
import type { Method } from '../model/method.ts';
import { probePorts, solePort } from '../model/rig.ts';
import type { Port, Rig } from '../model/rig.ts';
import type { Schedule } from '../series/schedule.ts';

/** What a trial on the rig has shown of scatter; each null where it did not. */
export interface KnownScatter {
  readonly blank: BlankScatter | null;
  /** Between readings of the photometer, s. */
  readonly intervalSeconds: number;
  /** With the mean length of the windows it was seen with, s. */
  readonly slice: (SliceScatter & { readonly windowSeconds: number }) | null;
}

/** What a series promises of one probe: its worst exercise. */
export interface PredictedProbe {
  readonly probe: string;
  readonly label: string;
  /** Usable seconds of its shortest dwell, and of all its dwells. */
  readonly leastUsableSeconds: number;
  readonly usableSeconds: number;
  /** Exercises in which none of its dwells has usable air. */
  readonly exercisesUnseen: number;
  /**
   * Percent of the challenge; null where the scatter of filtered air is not known, nothing is seen, or the probe lies
   * in the breathing zone: there it takes the factor of a breath that nobody has measured yet.
   */
  readonly detectionLimitPercent: number | null;
  /** Its leakage is corrected for what is breathed out. */
  readonly breathed: boolean;
  /** Standard error of one slice against the whole exercise, percent of the value; null where it is not known. */
  readonly slice: { readonly lowPercent: number; readonly highPercent: number } | null;
}

/**
 * The detection limit is that of an assessment (`makeCell`, `noiseAtZero`) at the nominal challenge: each window, the
 * zeros around the exercise that can be read, halfway between them, the background with the zeros around it.
 * @param usable seconds of each step: `predictUsableSeconds`. @param known null: no trial has shown anything.
 */
export function predictProbes(
  schedule: Schedule,
  usable: readonly number[],
  rig: Rig,
  method: Method,
  known: KnownScatter | null,
): PredictedProbe[] {
  return probePorts(rig).map((port) => {
    const ofProbe = schedule.steps.filter((step) => step.purpose === 'probe' && step.port === port.port);
    const seconds = ofProbe.map((step) => usable[step.step] ?? 0);
    const exercises = schedule.exercises.map((_, index) =>
      ofProbe.flatMap((step) => {
        const length = usable[step.step] ?? 0;
        return step.exerciseIndex === index && length > 0 ? [length] : [];
      }),
    );
    const seen = exercises.filter((windows) => windows.length > 0);
    const limits = exercises.flatMap((windows, index) =>
      windows.length === 0 ? [] : [limitOf(windows, index, port, { schedule, usable, rig, method, known })],
    );
    const slices = seen.flatMap((windows) => sliceOf(windows, known?.slice ?? null) ?? []);
    return {
      probe: port.probe,
      label: port.label,
      leastUsableSeconds: Math.min(...seconds),
      usableSeconds: seconds.reduce((sum, one) => sum + Math.max(0, one), 0),
      exercisesUnseen: exercises.length - seen.length,
      breathed: isBreathed(port, method),
      detectionLimitPercent:
        limits.length === 0 || limits.includes(null) ? null : Math.max(...limits.filter((one) => one !== null)),
      slice:
        slices.length === 0
          ? null
          : {
              lowPercent: Math.max(...slices.map(({ lowPercent }) => lowPercent)),
              highPercent: Math.max(...slices.map(({ highPercent }) => highPercent)),
            },
    };
  });
}

interface Ground {
  readonly schedule: Schedule;
  readonly usable: readonly number[];
  readonly rig: Rig;
  readonly method: Method;
  readonly known: KnownScatter | null;
}

function limitOf(windows: readonly number[], exercise: number, port: Port, ground: Ground): number | null {
  const { method, rig, schedule } = ground;
  const blank = ground.known?.blank ?? null;
  if (isBreathed(port, method)) return null;
  const reference = solePort(rig, 'reference');
  const factors = leakageFactors(rig, method, port, reference);
  const spanNet = (rig.challenge.nominal * reference.penetration.value) / reference.dilution.value;
  const scale = percentPerReading(spanNet, factors);
  if (blank === null || scale === null) return null;
  const length = windows.reduce((sum, one) => sum + one, 0);
  let windowVariance = 0;
  for (const window of windows) {
    const noise = noiseOfWindow(window, blank, ground);
    if (noise === null) return null;
    windowVariance += ((window / length) * noise) ** 2;
  }
  const first = schedule.exercises[exercise]?.firstProbeStep ?? 0;
  const zeros = zerosAround(first, ground, blank);
  const background = method.subtractBackground ? backgroundOf(port, ground, blank) : 0;
  if (zeros === null || background === null) return null;
  return limitFactor(method, blank) * Math.hypot(Math.sqrt(windowVariance), zeros, background) * scale;
}

function isBreathed(port: Port, method: Method): boolean {
  return port.breathingZone === true && method.applyBreathingZone !== false;
}

/**
 * Of a value halfway between the nearest zeros before and after a step (`anchoredValue`); of the one alone where there
 * is none on the other side. A zero that is too short to be read is none. Null without any.
 */
function zerosAround(at: number, ground: Ground, blank: BlankScatter): number | null {
  const read = ground.schedule.steps.flatMap(({ purpose, step }) => {
    const noise = purpose === 'zero' ? noiseOfWindow(ground.usable[step] ?? 0, blank, ground) : null;
    return noise === null ? [] : [{ step, noise }];
  });
  const before = read.findLast(({ step }) => step < at);
  const after = read.find(({ step }) => step > at);
  if (before === undefined || after === undefined) return (before ?? after)?.noise ?? null;
  return Math.hypot(before.noise, after.noise) / 2;
}

function backgroundOf(port: Port, ground: Ground, blank: BlankScatter): number | null {
  const step = ground.schedule.steps.find((one) => one.purpose === 'background' && one.port === port.port);
  if (step === undefined) return null;
  const noise = noiseOfWindow(ground.usable[step.step] ?? 0, blank, ground);
  const zeros = zerosAround(step.step, ground, blank);
  return noise === null || zeros === null ? null : Math.hypot(noise, zeros);
}

/** Of the mean of a window with the weights of the method; null where the window is too short to be read. */
function noiseOfWindow(seconds: number, blank: BlankScatter, { known, method, rig }: Ground): number | null {
  const interval = known?.intervalSeconds ?? 0;
  const readings = interval > 0 ? Math.floor(seconds / interval) : 0;
  if (readings < fewestWindowReadings) return null;
  const at = Float64Array.from({ length: readings }, (_, index) => index * interval * 1e6);
  const values = new Float64Array(readings);
  const mean = method.lagCorrection
    ? lagCorrectedMean(at, values, 0, readings, rig.timeConstantSeconds.value, method.lagEndSeconds)
    : plainMean(at, values, 0, readings);
  // Resolution is in the scatter already, as far as it was seen.
  return noiseOf(blank, 0, mean.squaredWeights);
}

/**
 * s/√n for n dwells, between what it is when windows of this length scatter as those that were seen and when they
 * scatter as windows of independent air: leakage that varies with a correlation that is nowhere negative lies between
 * (decision 0126).
 */
function sliceOf(windows: readonly number[], slice: KnownScatter['slice']): PredictedProbe['slice'] {
  if (slice === null || !(slice.windowSeconds > 0)) return null;
  const mean = windows.reduce((sum, one) => sum + one, 0) / windows.length;
  const same = slicePercentOf(100, windows.length, slice);
  const independent = same * Math.sqrt(slice.windowSeconds / mean);
  return { lowPercent: Math.min(same, independent), highPercent: Math.max(same, independent) };
}
