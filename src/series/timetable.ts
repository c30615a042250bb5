import { toSeconds } from '../model/time.ts';
import type { Series } from '../model/series.ts';
import type { Schedule } from './schedule.ts';

/** One dwell on a probe, as it is planned. */
export interface TimedDwell {
  readonly probe: string;
  readonly port: number;
  readonly dwellPosition: number;
  readonly dwellSeconds: number;
  /** What is left of it after the way from probe to photometer and settling. */
  readonly usableSeconds: number;
}

export interface TimedExercise {
  readonly exercise: string;
  readonly name: string;
  readonly restSeconds: number;
  readonly durationSeconds: number;
  readonly dwells: TimedDwell[];
}

/** Each exercise of a compiled series with its dwells. @param usable of each step: `predictUsableSeconds`. */
export function timetable(series: Series, schedule: Schedule, usable: readonly number[]): TimedExercise[] {
  return series.exercises.map(({ durationSeconds, exercise, name, restSeconds }, exerciseIndex) => ({
    ...{ exercise, name, restSeconds, durationSeconds },
    dwells: schedule.steps
      .filter((step) => step.exerciseIndex === exerciseIndex && step.purpose === 'probe')
      .map((step) => ({
        probe: step.probe,
        port: step.port,
        dwellPosition: step.dwellPosition ?? 0,
        dwellSeconds: toSeconds(step.durationMicroseconds),
        usableSeconds: usable[step.step] ?? 0,
      })),
  }));
}

/** Length of a series with this many probes, entry at its shortest, s. */
export function nominalSeconds(series: Series, probes: number): number {
  const { background, closing, entry, exercises } = series;
  const before = 2 * background.zeroSeconds + probes * background.dwellSeconds + entry.minimumSeconds;
  const after = closing.referenceSeconds + closing.zeroSeconds;
  return exercises.reduce(
    (sum, { restSeconds, durationSeconds }) => sum + restSeconds + durationSeconds,
    before + after,
  );
}
