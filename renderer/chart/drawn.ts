/** Name of the performance marks of the lanes; a `PerformanceObserver` sees each. */
export const drawnMark = 'lanes drawn';

/**
 * Marks that the lanes have been drawn, with the time of the newest reading in the picture, µs of the sample channel,
 * as its detail: what tells how old a reading is when it can be seen. Marks are not kept, so that they cost no memory.
 */
export function markDrawn(newestMicroseconds: number | null): void {
  performance.mark(drawnMark, { detail: newestMicroseconds });
  performance.clearMarks(drawnMark);
}
