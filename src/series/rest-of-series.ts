import type { Series } from '../model/series.ts';

/**
 * The series from one of its exercises on, as a series of its own: background, entry and closing as they were, the
 * rotation moved on by as many rows. Its name says that it is not the whole.
 * @returns null where the series has no such exercise; the series itself for its first.
 */
export function restOfSeries(series: Series, exercise: string): Series | null {
  const index = series.exercises.findIndex((one) => one.exercise === exercise);
  const first = series.exercises[index];
  if (first === undefined) return null;
  if (index === 0) return series;
  return {
    ...series,
    name: `${series.name}, from ${first.name}`,
    exercises: series.exercises.slice(index),
    order: { ...series.order, offset: series.order.offset + index },
  };
}
