import type { Series } from '../model/series.ts';
import type { TrialEvent } from '../model/trial-event.ts';

/** What can be done again of a trial that came to nothing. */
export interface RepeatOffer {
  /** Why it is offered. */
  readonly because: 'void' | 'stopped';
  /** The exercise that a stop broke off, or that was next; null where the whole series is all that makes sense. */
  readonly from: string | null;
}

/**
 * A trial is repeated when a reviewer made it void, or when it was stopped or closed before its series was done. From a
 * later exercise on only where exercises were done whole before it, and nothing of it is void.
 * @returns null for a trial that counts and ran to its end.
 */
export function repeatOffer(series: Series, events: readonly TrialEvent[], isVoid: boolean): RepeatOffer | null {
  if (isVoid) return { because: 'void', from: null };
  // A trial that ran to its end closes by itself, from running; any other is closed from a standstill, by a person.
  const endedEarly = events.some(
    (event) => event.kind === 'phase-changed' && event.to === 'closed' && event.from !== 'running',
  );
  if (!endedEarly) return null;
  const done = new Set<string>();
  for (const event of events) {
    // Of several attempts the last one counts, also when it was broken off.
    if (event.kind === 'exercise-began') done.delete(event.exercise);
    else if (event.kind === 'exercise-ended' && event.complete) done.add(event.exercise);
  }
  const open = series.exercises.findIndex(({ exercise }) => !done.has(exercise));
  return { because: 'stopped', from: open > 0 ? (series.exercises[open]?.exercise ?? null) : null };
}
