import type { LeftOut } from '../../src/leakage/left-out.ts';
import type { Place } from './result-view.ts';

/** What the screen wants the trace to show beside the trial itself. */
export interface TraceShown {
  /** The cell that is lit. */
  readonly place: Place | null;
  readonly onChoose: (place: Place) => void;
  /** Stretches that are left out, or about to be. */
  readonly leftOut: readonly LeftOut[];
  /** A stretch was dragged over, trial time, µs; null: dragging looks closer instead. */
  readonly onStretch: ((fromMicroseconds: number, toMicroseconds: number) => void) | null;
}
