import { ChambersideError } from '../model/error-code.ts';
import type { Series } from '../model/series.ts';

/** What contradicts itself in a series, whatever the rig. */
export interface SeriesFault {
  /** Path of the member that is to be changed, as in the file: `exercises.2.leadInSeconds`. */
  readonly path: string;
  readonly what: string;
  /** Slug of the exercise, or the part of the series. */
  readonly where: string;
  readonly remedy: string;
}

/** Everything that keeps a series from being compiled for any rig; none: it is sound. */
export function seriesFaults({ entry, exercises }: Pick<Series, 'entry' | 'exercises'>): SeriesFault[] {
  const faults: SeriesFault[] = [];
  const add = (path: string, what: string, where: string, remedy: string): void =>
    void faults.push({ path, what, where, remedy });
  if (entry.maximumSeconds < entry.minimumSeconds) {
    const remedy = 'Set maximumSeconds to at least minimumSeconds.';
    add('entry.maximumSeconds', 'the longest entry is shorter than the shortest', 'entry', remedy);
  }
  if (entry.steadyWindowSeconds > entry.maximumSeconds) {
    const remedy = 'Shorten steadyWindowSeconds or lengthen maximumSeconds.';
    add('entry.steadyWindowSeconds', 'the window for steadiness is longer than the entry', 'entry', remedy);
  }
  const seen = new Set<string>();
  for (const [index, exercise] of exercises.entries()) {
    const { exercise: slug, durationSeconds, leadInSeconds, restSeconds, restZeroSeconds } = exercise;
    const path = `exercises.${index}`;
    if (seen.has(slug)) {
      const remedy = 'Name each differently: results are listed by this name.';
      add(`${path}.exercise`, 'two exercises have the same name', slug, remedy);
    }
    seen.add(slug);
    if (restZeroSeconds > restSeconds) {
      const what = 'the zero at the end of the rest is longer than the rest';
      add(`${path}.restZeroSeconds`, what, slug, 'Lengthen restSeconds or shorten restZeroSeconds.');
    }
    if (leadInSeconds >= durationSeconds) {
      const remedy = 'Lengthen durationSeconds or shorten leadInSeconds.';
      add(`${path}.leadInSeconds`, 'the lead-in takes the whole exercise', slug, remedy);
    }
  }
  return faults;
}

/** @throws ChambersideError `schedule-impossible` for the first fault. */
export function requireSound(series: Pick<Series, 'entry' | 'exercises'>): void {
  const [fault] = seriesFaults(series);
  if (fault !== undefined) throw new ChambersideError('schedule-impossible', fault.what, fault.where, fault.remedy);
}
