import { judgeSteadiness, referenceSettlingSeconds, steadinessLimits } from '../../calibration/steadiness.ts';
import type { ReferenceReading } from '../../calibration/steadiness.ts';
import type { PortSelector } from '../../device/driver.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import type { Reading } from '../../model/reading.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import { toMicroseconds } from '../../model/time.ts';
import { subjectPerson } from '../../model/trial-event.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { CueName, Schedule } from '../../series/schedule.ts';
import { prepareMachine } from '../../trial/machine-state.ts';
import type { TrialMachine } from '../../trial/machine-state.ts';
import { next } from '../../trial/machine.ts';
import type { ActionSource, TrialAction, TrialEffect, TrialInput } from '../../trial/machine-seam.ts';

export interface Cue {
  readonly cue: CueName;
  readonly exercise: string | null;
  readonly text: string;
  readonly atMicroseconds: number;
}

export interface ConductorOptions {
  /** The trial clock. */
  readonly clock: Clock;
  readonly series: Series;
  readonly rig: Rig;
  /** Compiled from this series for this rig. */
  readonly schedule: Schedule;
  /** The valve as it is connected now; undefined while it is lost. Asked anew for every request. */
  readonly selector: () => PortSelector | undefined;
  /** Appends to the trial's record; called in order of happening, never concurrently. */
  readonly record: (event: TrialEvent) => void;
  /**
   * Called before every input: the moment to notice that the program did not run, and to say so by `interrupt`,
   * before anything is decided by a time that has passed unseen. Must not throw.
   */
  readonly beforeInput?: () => void;
  /** To the subject's screen and loudspeaker. */
  readonly onCue?: (cue: Cue) => void;
  /** After every change, when everything has been recorded. */
  readonly onChange?: (machine: TrialMachine) => void;
  /**
   * An error thrown by `record` or a listener inside a timer or an answer, where no caller can catch it (from
   * `command`, `interrupt` and `resumeFrom` it is thrown). The conductor ends itself first: it never goes on without a
   * record.
   */
  readonly onFailure: (error: unknown) => void;
}

export type CommandOutcome = { readonly accepted: true } | { readonly accepted: false; readonly reason: string };

/** Performs what the trial machine wants, against the trial clock and the selector valve. */
export interface Conductor {
  readonly machine: TrialMachine;
  /** Resolves when the trial is closed, or the conductor has been ended. */
  readonly finished: Promise<void>;
  /**
   * Called from inside a listener, it is taken up after what is under way and reported as accepted.
   * @param person code of who asks.
   * @param note free text; the reason of a hold, stop or close.
   * @param exercise for `repeat` and `skip`: the exercise meant; left out: the one under way or next.
   */
  command(action: TrialAction, person: string, note: string, exercise?: string): CommandOutcome;
  /** The subject stops the trial by a contact: as `command` with `stop`. */
  stopByContact(note: string, source: ActionSource): CommandOutcome;
  /** Every reading of the trial in order of arrival; it picks those that it needs. */
  observeReading(reading: Reading): void;
  /**
   * The program did not run: the trial is held as of the moment of loss. Call when the time segment that begins
   * after the loss, if one does, has been recorded: what happened at the moment of loss stands behind
   * `segment-began` in the record, with its own earlier time.
   */
  interrupt(lostAtMicroseconds: number, reason: string): void;
  /**
   * Takes up a trial after the loss of the host, as `interrupt` does.
   * @param machine as `restoreMachine` gives it.
   */
  resumeFrom(machine: TrialMachine, lostAtMicroseconds: number): void;
  /** Cancels everything pending; resolves when nothing is left: no timer, no unanswered request. */
  end(): Promise<void>;
}

export function createConductor(options: ConductorOptions): Conductor {
  const { clock, schedule, rig } = options;
  const limits = steadinessLimits(options.series, rig);
  const settlingMicroseconds = toMicroseconds(referenceSettlingSeconds(rig));
  let machine = prepareMachine(schedule);
  let ended = false;
  let performing = false;
  const waiting: TrialInput[] = [];
  let cancelWake: Cancel | null = null;
  let pending: AbortController | null = null;
  const requests = new Set<Promise<void>>();
  let references: ReferenceReading[] = [];
  let resolveFinished: () => void = () => undefined;
  const finished = new Promise<void>((resolve) => {
    resolveFinished = resolve;
  });

  /** One input at a time; what effects give rise to is taken up after them. @returns why the first was refused. */
  const apply = (first: TrialInput): string | null => {
    if (!performing && !ended) options.beforeInput?.();
    waiting.push(first);
    if (performing || ended) return null;
    performing = true;
    let refusal: string | null = null;
    const failures: unknown[] = [];
    const attempt = (task: () => void): void => {
      try {
        task();
      } catch (error) {
        failures.push(error);
      }
    };
    for (let input = waiting.shift(); input !== undefined && failures.length === 0; input = waiting.shift()) {
      const transition = next(machine, input, schedule);
      machine = transition.state;
      for (const effect of transition.effects) {
        if (effect.effect === 'refused' && input === first) refusal = effect.reason;
        // Even when the record fails, a stop is still said and the valve still leaves the probe.
        attempt(() => perform(effect));
      }
      attempt(() => options.onChange?.(machine));
    }
    performing = false;
    waiting.length = 0;
    if (failures.length > 0) {
      release();
      throw failures[0];
    }
    return refusal;
  };

  /** For callbacks: nobody above could catch. */
  const applyOrFail = (input: TrialInput): void => {
    try {
      apply(input);
    } catch (error) {
      options.onFailure(error);
    }
  };

  const perform = (effect: TrialEffect): void => {
    switch (effect.effect) {
      case 'record':
        options.record(effect.event);
        return;
      case 'cue':
        options.onCue?.({
          cue: effect.cue,
          exercise: effect.exercise,
          text: effect.text,
          atMicroseconds: machine.nowMicroseconds,
        });
        return;
      case 'request-port':
        requestPort(effect.request, effect.port);
        return;
      case 'judge-challenge':
        waiting.push(judgeChallenge());
        return;
      case 'wake-at':
        wakeAt(effect.atMicroseconds);
        return;
      case 'finished':
        resolveFinished();
        return;
      case 'refused':
        return;
    }
  };

  const wakeAt = (atMicroseconds: number | null): void => {
    cancelWake?.();
    cancelWake = null;
    if (atMicroseconds === null || ended) return;
    const wake = (): void => {
      cancelWake = null;
      applyOrFail({ input: 'time', atMicroseconds: clock.now() });
    };
    cancelWake = clock.at(atMicroseconds, wake, true);
  };

  const requestPort = (request: number, port: number): void => {
    pending?.abort();
    references = [];
    const selector = options.selector();
    if (selector === undefined) {
      const detail = 'the selector valve is not connected';
      waiting.push({ input: 'port-unconfirmed', atMicroseconds: clock.now(), request, detail });
      return;
    }
    const cancellation = new AbortController();
    pending = cancellation;
    const conversation = askSelector(selector, request, port, cancellation.signal).then((answer) => {
      requests.delete(conversation);
      if (pending === cancellation) pending = null;
      if (!ended) applyOrFail(answer);
    });
    requests.add(conversation);
  };

  /** Never rejects: whatever goes wrong is an unconfirmed port. */
  const askSelector = async (
    selector: PortSelector,
    request: number,
    port: number,
    signal: AbortSignal,
  ): Promise<TrialInput> => {
    try {
      const { atMicroseconds } = await selector.select(port, signal);
      return { input: 'port-acknowledged', atMicroseconds, request };
    } catch (error) {
      const detail = error instanceof Error ? error.message : String(error);
      return { input: 'port-unconfirmed', atMicroseconds: clock.now(), request, detail };
    }
  };

  const judgeChallenge = (): TrialInput => {
    const atMicroseconds = clock.now();
    const acknowledged = acknowledgedAt();
    const settledFrom = acknowledged === null ? Number.POSITIVE_INFINITY : acknowledged + settlingMicroseconds;
    const judgement = judgeSteadiness(references, atMicroseconds, settledFrom, limits);
    return { input: 'challenge-judged', atMicroseconds, ...judgement };
  };

  const acknowledgedAt = (): number | null => machine.request?.acknowledgedAtMicroseconds ?? null;

  const release = (): void => {
    ended = true;
    cancelWake?.();
    cancelWake = null;
    pending?.abort();
    references = [];
    resolveFinished();
  };

  const interrupt: Conductor['interrupt'] = (lostAtMicroseconds, reason) => {
    apply({ input: 'interrupted', lostAtMicroseconds, atMicroseconds: clock.now(), reason });
  };

  const act = (asked: Omit<Extract<TrialInput, { input: 'action' }>, 'input' | 'atMicroseconds'>): CommandOutcome => {
    if (ended) return { accepted: false, reason: 'The conductor of this trial has been ended.' };
    const reason = apply({ input: 'action', atMicroseconds: clock.now(), ...asked });
    return reason === null ? { accepted: true } : { accepted: false, reason };
  };

  return {
    get machine() {
      return machine;
    },
    finished,
    interrupt,
    command: (action, person, note, exercise) => act({ action, person, note, exercise: exercise ?? null }),
    stopByContact: (note, source) => act({ action: 'stop', person: subjectPerson, note, exercise: null, source }),
    observeReading(reading) {
      if (machine.dwell?.entry == null) return;
      if (reading.instrument !== rig.photometer || reading.stream !== rig.photometerStream) return;
      references.push(reading);
      const from = reading.atMicroseconds - 2 * limits.windowMicroseconds;
      if ((references[0]?.atMicroseconds ?? from) < from) {
        references = references.filter((entry) => entry.atMicroseconds >= from + limits.windowMicroseconds);
      }
    },
    resumeFrom(restored, lostAtMicroseconds) {
      machine = restored;
      interrupt(lostAtMicroseconds, 'the program was interrupted');
      // Closed before the host was lost: nothing will say so again.
      if (machine.phase === 'closed') resolveFinished();
    },
    async end() {
      release();
      await Promise.all(requests);
    },
  };
}
