import type { ExerciseView } from '../../../bridge/trial-snapshot.ts';
import { castsDoubt, orderFlags } from '../../../leakage/flag.ts';
import type { Flag } from '../../../leakage/flag.ts';
import type { Series } from '../../../model/series.ts';
import type { Schedule } from '../../../series/schedule.ts';
import type { TrialMachine } from '../../../trial/machine-state.ts';
import type { TrialStory } from './trial-story.ts';

export interface ExercisesInput {
  readonly machine: TrialMachine;
  readonly schedule: Schedule;
  readonly series: Series;
  readonly story: Pick<TrialStory, 'dwells' | 'exercises'>;
  /** Flags of the dwells that have been read, by number of the dwell. */
  readonly dwellFlags: ReadonlyMap<number, readonly Flag[]>;
}

/** The timeline: every exercise of the series with how it stands. */
export function exerciseViews(input: ExercisesInput): ExerciseView[] {
  const { machine, schedule, series, story } = input;
  const ended = machine.phase === 'stopped' || machine.phase === 'closed';
  const place = schedule.steps[machine.cursor.step];
  // Before the first exercise nothing is passed; behind the last one everything is.
  const reached =
    place?.exerciseIndex ?? (place === undefined || place.stage === 'closing' ? series.exercises.length : -1);
  return series.exercises.map((exercise, index) => {
    const told = story.exercises.get(exercise.exercise);
    const complete = told?.complete ?? false;
    const passed = index < reached || (ended && (told?.attempts ?? 0) > 0);
    const state = !ended && index === reached ? 'now' : complete ? 'done' : passed ? 'skipped' : 'to-come';
    return {
      exercise: exercise.exercise,
      name: exercise.name,
      instruction: exercise.instruction,
      operatorText: exercise.operatorText ?? null,
      restSeconds: exercise.restSeconds,
      restLengthenedSeconds: (told?.restLengthenedMicroseconds ?? 0) / 1_000_000,
      durationSeconds: exercise.durationSeconds,
      cadencePerMinute: exercise.cadencePerMinute,
      movement: exercise.movement ?? null,
      workRateWatts: exercise.workRateWatts,
      state,
      attempts: machine.attempts[index] ?? 0,
      beganAtMicroseconds: told?.beganAtMicroseconds ?? null,
      endedAtMicroseconds: told?.endedAtMicroseconds ?? null,
      flags: flagsOf(input, exercise.exercise, machine.attempts[index] ?? 0),
    };
  });
}

/** Doubt about the newest attempt: of each probe the last dwell that counts. */
function flagsOf(input: ExercisesInput, exercise: string, attempt: number): Flag[] {
  const newest = new Map<string, number>();
  for (const dwell of input.story.dwells) {
    if (dwell.exercise !== exercise || dwell.purpose !== 'probe' || dwell.attempt !== attempt) continue;
    if (dwell.endedAtMicroseconds !== null) newest.set(`${dwell.probe} ${dwell.dwellPosition ?? 0}`, dwell.dwell);
  }
  const flags = new Set<Flag>();
  for (const dwell of newest.values()) {
    for (const flag of input.dwellFlags.get(dwell) ?? []) if (castsDoubt([flag])) flags.add(flag);
  }
  return orderFlags(flags);
}
