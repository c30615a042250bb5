import type { Cancel, Clock } from '../../device/timers.ts';
import type { Problem, Reading } from '../../model/reading.ts';
import { beginSafety, evaluate, nextSilenceAt } from '../../safety/limits.ts';
import type { SafetyEvent, SafetyInput, SafetyLimits, SafetyState } from '../../safety/limits.ts';

export interface SafetyWatchOptions {
  /** The clock that stamps the readings. */
  readonly clock: Clock;
  readonly limits: SafetyLimits;
  /** Alarms raised and cleared, in order, at the moment they are known. */
  readonly onEvent: (event: SafetyEvent) => void;
  /** An error thrown by `onEvent` inside a timer, where no caller can catch it; the watch goes on. */
  readonly onFailure: (error: unknown) => void;
}

/** The safety evaluation in the path of a reading, with the one timer that silence needs. */
export interface SafetyWatch {
  readonly state: SafetyState;
  /** Before the reading is recorded. */
  observeReading(reading: Reading): void;
  observeProblem(problem: Problem): void;
  /** After every answer of the selector valve, or the lack of one. `detail`: what is wrong, in words. */
  observePort(atMicroseconds: number, instrument: string, confirmed: boolean, detail: string): void;
  acknowledge(alarm: string, instrument: string | null): void;
  /** No timer is left behind. */
  end(): void;
}

/** Watches from now on; a stream that never begins to speak is silent from now. */
export function watchSafety(options: SafetyWatchOptions): SafetyWatch {
  const { clock, limits } = options;
  let state = beginSafety(clock.now());
  let cancel: Cancel | null = null;
  let ended = false;

  const apply = (input: SafetyInput): void => {
    if (ended) return;
    const result = evaluate(state, input, limits);
    state = result.state;
    for (const event of result.events) options.onEvent(event);
    arm();
  };

  /** An armed timer is left to fire early rather than moved at every reading. */
  const arm = (): void => {
    if (cancel !== null || ended) return;
    const at = nextSilenceAt(state, limits);
    if (at === null) return;
    cancel = clock.at(at, () => {
      cancel = null;
      try {
        apply({ input: 'time', atMicroseconds: clock.now() });
      } catch (error) {
        options.onFailure(error);
        arm();
      }
    });
  };

  arm();
  return {
    get state() {
      return state;
    },
    observeReading(reading) {
      apply({ input: 'reading', reading });
    },
    observeProblem(problem) {
      apply({ input: 'problem', problem });
    },
    observePort(atMicroseconds, instrument, confirmed, detail) {
      apply({ input: 'port', atMicroseconds, instrument, confirmed, detail });
    },
    acknowledge(alarm, instrument) {
      apply({ input: 'acknowledge', alarm, instrument });
    },
    end() {
      ended = true;
      cancel?.();
      cancel = null;
    },
  };
}
