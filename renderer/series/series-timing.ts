import { methodForRig, usableOptions } from '../../src/leakage/method-for-rig.ts';
import { firstMethod } from '../../src/leakage/default-method.ts';
import { probePorts } from '../../src/model/rig.ts';
import type { Rig } from '../../src/model/rig.ts';
import type { Series } from '../../src/model/series.ts';
import { compileSchedule } from '../../src/series/compile.ts';
import { seriesRemarks } from '../../src/series/remarks.ts';
import type { SeriesRemark } from '../../src/series/remarks.ts';
import type { Schedule } from '../../src/series/schedule.ts';
import { nominalSeconds, timetable } from '../../src/series/timetable.ts';
import type { TimedExercise } from '../../src/series/timetable.ts';
import { predictUsableSeconds } from '../../src/series/usable.ts';

/** A stretch of the line of time. */
export interface Stretch {
  readonly kind: 'before' | 'entry' | 'rest' | 'exercise' | 'after';
  readonly seconds: number;
  /** Index of the exercise; null outside. */
  readonly exercise: number | null;
}

/** A series in time; what needs a rig is null where there is none, or where it cannot run the series. */
export interface SeriesTiming {
  readonly totalSeconds: number;
  /** From entering to leaving, s. */
  readonly insideSeconds: number;
  readonly leastUsableSeconds: number | null;
  readonly exercises: readonly TimedExercise[];
  readonly schedule: Schedule | null;
  /** Of each step of the schedule, s; empty without one. */
  readonly usable: readonly number[];
  readonly remarks: readonly SeriesRemark[];
  readonly line: readonly Stretch[];
}

export function timeSeries(series: Series, rig: Rig | null): SeriesTiming {
  const options = usableOptions(rig === null ? firstMethod : methodForRig(rig));
  const remarks = seriesRemarks(series, rig, options);
  const possible = rig !== null && !remarks.some(({ kind }) => kind === 'not-for-rig');
  const schedule = possible ? compileSchedule(series, rig) : null;
  const usable = schedule === null || rig === null ? [] : predictUsableSeconds(schedule, rig, options);
  const exercises =
    schedule === null
      ? series.exercises.map((one) => ({ ...one, dwells: [] }))
      : timetable(series, schedule, usable);
  const probes = rig === null ? 0 : probePorts(rig).length;
  const before = 2 * series.background.zeroSeconds + probes * series.background.dwellSeconds;
  const totalSeconds = nominalSeconds(series, probes);
  const dwells = exercises.flatMap((one) => one.dwells.map(({ usableSeconds }) => usableSeconds));
  return {
    totalSeconds,
    insideSeconds: totalSeconds - before,
    leastUsableSeconds: dwells.length === 0 ? null : Math.min(...dwells),
    exercises,
    schedule,
    usable,
    remarks,
    line: [
      { kind: 'before', seconds: before, exercise: null },
      { kind: 'entry', seconds: series.entry.minimumSeconds, exercise: null },
      ...series.exercises.flatMap((one, exercise): Stretch[] => [
        { kind: 'rest', seconds: one.restSeconds, exercise },
        { kind: 'exercise', seconds: one.durationSeconds, exercise },
      ]),
      { kind: 'after', seconds: series.closing.referenceSeconds + series.closing.zeroSeconds, exercise: null },
    ],
  };
}
