import type { TrialEvent, TrialEventOf } from '../model/trial-event.ts';
import type { CueName } from '../series/schedule.ts';
import type { TrialMachine } from './machine-state.ts';

/**
 * What a person asks of a trial. `mark` notes a moment and changes nothing; `extend-rest` adds
 * `lengtheningMicroseconds` to the rest under way.
 */
export type TrialAction = 'start' | 'hold' | 'go-on' | 'repeat' | 'skip' | 'extend-rest' | 'stop' | 'close' | 'mark';

/** By what something was done, where no window was used. */
export type ActionSource = NonNullable<TrialEventOf<'operator-action'>['source']>;

/** What the machine is told. Every input is a time as well: what was due before it happens first. */
export type TrialInput =
  | { readonly input: 'time'; readonly atMicroseconds: number }
  | {
      readonly input: 'action';
      readonly action: TrialAction;
      readonly atMicroseconds: number;
      readonly person: string;
      readonly note: string;
      /**
       * For `repeat`, `skip` and `extend-rest`: the exercise meant, null for the one that is under way or next.
       * `repeat` takes the one before as well, the others refuse any other, so that a key pressed late does no harm.
       */
      readonly exercise: string | null;
      /** The contact by which it was done; left out for what was done in a window. */
      readonly source?: ActionSource;
    }
  | { readonly input: 'port-acknowledged'; readonly atMicroseconds: number; readonly request: number }
  | {
      readonly input: 'port-unconfirmed';
      readonly atMicroseconds: number;
      readonly request: number;
      /** Why, in words. */
      readonly detail: string;
    }
  | {
      readonly input: 'challenge-judged';
      readonly atMicroseconds: number;
      readonly steady: boolean;
      readonly rangePercent: number | null;
      readonly meanReading: number | null;
    }
  | {
      /** The host was lost, restarted, or slept. */
      readonly input: 'interrupted';
      /** Moment of the loss: the trial is held as of then. */
      readonly lostAtMicroseconds: number;
      /** Now. */
      readonly atMicroseconds: number;
      readonly reason: string;
    };

/** What the machine wants done, in this order. */
export type TrialEffect =
  | { readonly effect: 'request-port'; readonly request: number; readonly dwell: number; readonly port: number }
  | { readonly effect: 'cue'; readonly cue: CueName; readonly exercise: string | null; readonly text: string }
  | { readonly effect: 'record'; readonly event: TrialEvent }
  /** Answer with `challenge-judged`. */
  | { readonly effect: 'judge-challenge' }
  /** The action is not possible now; nothing was changed or recorded. */
  | { readonly effect: 'refused'; readonly action: TrialAction; readonly reason: string }
  /** The trial is closed: nothing will follow. */
  | { readonly effect: 'finished' }
  /** Send `time` then. Always the last effect; replaces the one before. Null: there is nothing to wait for. */
  | { readonly effect: 'wake-at'; readonly atMicroseconds: number | null };

export interface Transition {
  readonly state: TrialMachine;
  readonly effects: readonly TrialEffect[];
}
