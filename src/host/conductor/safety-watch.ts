import type { Cancel, Clock } from '../../device/timers.ts';
import type { Problem, Reading } from '../../model/reading.ts';
import { beginSafety, evaluate, nextSilenceAt, standingAlarms } from '../../safety/limits.ts';
import type { Alarm, SafetyEvent, SafetyInput, SafetyLimits, SafetyState } from '../../safety/limits.ts';

export interface SafetyWatchOptions {
  /** The clock that stamps the readings. */
  readonly clock: Clock;
  readonly limits: SafetyLimits;
  /** Alarms that a watch before this one left behind; none when left out. */
  readonly alarms?: readonly Alarm[];
  /** Alarms raised, cleared and acknowledged, in order, at the moment they are known. */
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
  /** A cause in the program itself begins, or is gone; in words. */
  observeCondition(alarm: string, standing: boolean, detail: string, instrument?: string | null): void;
  /** @returns false when no such alarm waits to be seen: nothing is recorded then. */
  acknowledge(alarm: string, instrument: string | null, person: string, reason: string): boolean;
  /** After every answer of the selector valve, or the lack of one. `detail`: what is wrong, in words. */
  observePort(atMicroseconds: number, instrument: string, confirmed: boolean, detail: string): void;
  /**
   * Whether the causes of alarms that were left behind still stand, nobody knows: they count as gone, and are raised
   * again by whoever finds them. The alarms stay until a person has seen them.
   */
  forgetCauses(detail: string): void;
  /** No timer is left behind. */
  end(): void;
}

/** Watches from now on; a stream that never begins to speak is silent from now. */
export function watchSafety(options: SafetyWatchOptions): SafetyWatch {
  const { clock, limits } = options;
  let state = beginSafety(clock.now(), options.alarms);
  let cancel: Cancel | null = null;
  let ended = false;

  const apply = (input: SafetyInput): readonly SafetyEvent[] => {
    if (ended) return [];
    const { state: after, events } = evaluate(state, input, limits);
    state = after;
    for (const event of events) options.onEvent(event);
    arm();
    return events;
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
    observeCondition(alarm, standing, detail, instrument = null) {
      apply({ input: 'condition', atMicroseconds: clock.now(), alarm, instrument, standing, detail });
    },
    acknowledge(alarm, instrument, person, reason) {
      const events = apply({
        input: 'acknowledge',
        atMicroseconds: clock.now(),
        alarm,
        instrument,
        person,
        reason,
      });
      return events.some((event) => event.kind === 'alarm-acknowledged');
    },
    observePort(atMicroseconds, instrument, confirmed, detail) {
      apply({ input: 'port', atMicroseconds, instrument, confirmed, detail });
    },
    forgetCauses(detail) {
      for (const { alarm, instrument } of standingAlarms(state)) {
        apply({ input: 'condition', atMicroseconds: clock.now(), alarm, instrument, standing: false, detail });
      }
    },
    end() {
      ended = true;
      cancel?.();
      cancel = null;
    },
  };
}
