/** Words of the trace of a whole trial. */
export const traceWords = {
  label: 'What the photometer read over the whole trial, on a log axis',
  loading: 'Reading the trial …',
  failed: 'The readings could not be fetched. Load the screen again.',
} as const;
