import { createStore } from 'zustand/vanilla';
import type { AfterItem, BeforeItem } from '../../src/model/trial-event.ts';
import type { Failure } from '../../src/bridge/snapshot.ts';

/** What is open on the console of this window, and what waits for a second key. */
export interface ConsoleState {
  /** The first of two keys was pressed. */
  readonly armed: 'go-on' | 'start' | 'repeat' | 'skip' | null;
  /** The exercise that was meant when it was: by the second key another may be under way. */
  readonly armedExercise: string | null;
  readonly panel:
    | { readonly kind: 'mark'; readonly atMicroseconds: number }
    | { readonly kind: 'valve' }
    /** A second pair of eyes, or the reason, for an item of the list of before the start. */
    | { readonly kind: 'before'; readonly item: BeforeItem; readonly answer: 'confirmed' | 'passed-over' }
    /** What was found, or why it is passed over, of the list of after the trial. */
    | { readonly kind: 'after'; readonly item: AfterItem; readonly answer: 'noted' | 'passed-over' }
    | { readonly kind: 'acknowledge'; readonly alarm: string; readonly instrument: string | null }
    | null;
  readonly oneAxis: boolean;
  readonly refusal: Failure | null;
}

export const consoleState = createStore<ConsoleState>(() => ({
  armed: null,
  armedExercise: null,
  panel: null,
  oneAxis: false,
  refusal: null,
}));

const armedMilliseconds = 5_000;
let disarm: ReturnType<typeof setTimeout> | undefined;

/** The first of two keys; it is forgotten after five seconds. */
export function arm(armed: NonNullable<ConsoleState['armed']>, exercise: string | null = null): void {
  clearTimeout(disarm);
  consoleState.setState({ armed, armedExercise: exercise, panel: null });
  disarm = setTimeout(() => consoleState.setState({ armed: null }), armedMilliseconds);
}

export function forgetArmed(): void {
  clearTimeout(disarm);
  if (consoleState.getState().armed !== null) consoleState.setState({ armed: null });
}
