/** Words of the trace of a whole trial. */
export const traceWords = {
  described: (exercises: number, gaps: number, exercise: string | null, probe: string | null) =>
    `What the photometer read over the whole trial, on a log axis: ${exercises} exercises, ` +
    `${gaps === 0 ? 'no gap' : gaps === 1 ? '1 gap' : `${gaps} gaps`}` +
    (exercise === null || probe === null ? '' : `; lit is the window of ${probe}, ${exercise.toLowerCase()}`),
  loading: 'Reading the trial …',
  failed: 'The readings could not be fetched. Load the screen again.',
  none: 'No photometer reading is stored with this trial.',
} as const;
