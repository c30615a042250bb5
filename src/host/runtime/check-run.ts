import type { RunningCheckState } from '../../bridge/checks.ts';
import type { CheckDefinition, CheckPace } from '../../calibration/check/kind.ts';
import {
  advanceCheck,
  answersFit,
  beginCheckMachine,
  leastSeconds,
  presentStep,
} from '../../calibration/check/machine.ts';
import type { CheckEvent } from '../../calibration/check/machine.ts';
import type { Answers, CheckRecord, CheckStep, CheckStream } from '../../calibration/check/step.ts';
import type { CheckCondition } from '../../calibration/check/vocabulary.ts';
import type { ReferenceReading } from '../../calibration/steadiness.ts';
import type { Cancel, Clock } from '../../device/timers.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import type { Reading } from '../../model/reading.ts';
import { toSeconds } from '../../model/time.ts';
import type { OpenRig } from './open-rig.ts';
import { refusal } from './refusal.ts';

/** A check under way. */
export interface RunningCheck {
  readonly state: RunningCheckState;
  /** Resolves with what was recorded, or null when it was cancelled; rejects when the valve fails. */
  readonly finished: Promise<CheckRecord | null>;
  observeReading(reading: Reading): void;
  /** @throws ChambersideError `action-refused` when nothing is asked, `usage-bad-value` when it does not fit. */
  answer(answers: Answers): void;
  cancel(): void;
}

export interface RunCheckOptions {
  readonly rig: OpenRig;
  readonly definition: CheckDefinition;
  readonly subject: string | null;
  readonly condition: CheckCondition;
  readonly pace: CheckPace;
  readonly clock: Clock;
  readonly wallNow: () => Date;
  /** A person says that something has been done: where the hands are virtual, now it is. */
  readonly onAnswer: (step: Extract<CheckStep, { step: 'ask' }>, answers: Answers) => void;
  readonly onChange: () => void;
}

const tickMicroseconds = 100_000;

/** @throws ChambersideError `action-refused` when the rig has no such check, or an instrument is not connected. */
export function runCheck(options: RunCheckOptions): RunningCheck {
  const { clock, definition, subject } = options;
  const { rig } = options.rig;
  if (!definition.subjects(rig).includes(subject)) {
    throw refusal('this rig has no such check', subject ?? definition.check, 'Choose one of its checks.');
  }
  for (const instrument of definition.needs(rig)) {
    if (options.rig.isConnected(instrument)) continue;
    throw refusal(`${instrument} is not connected`, rig.name, 'Connect it, then check.');
  }
  const beganAt = Math.round(clock.now());
  const now = (): number => Math.max(0, Math.round(clock.now()) - beganAt);
  const kept = new Map<string, CheckStream>();
  for (const descriptor of options.rig.streams.filter((stream) => definition.keeps(rig, stream))) {
    const { expectedIntervalSeconds, instrument, stream, unit } = descriptor;
    const column = { instrument, stream, unit, expectedIntervalSeconds, atMicroseconds: [], values: [] };
    kept.set(`${instrument}/${stream}`, column);
  }
  const photometer = kept.get(`${rig.photometer}/${rig.photometerStream}`) ?? null;
  const cancellation = new AbortController();
  let machine = beginCheckMachine(definition.steps(rig, subject, options.pace));
  let over = false;
  let cancelTick: Cancel | undefined;
  let settle: { resolve: (record: CheckRecord | null) => void; reject: (error: unknown) => void };
  const finished = new Promise<CheckRecord | null>((resolve, reject) => {
    settle = { resolve, reject };
  });

  const end = (outcome: () => void): void => {
    if (over) return;
    over = true;
    cancelTick?.();
    cancellation.abort();
    outcome();
  };
  const take = (event: CheckEvent): void => {
    if (over) return;
    const next = advanceCheck(machine, event, now());
    if (next === machine) return;
    machine = next;
    enter();
    options.onChange();
  };
  const enter = (): void => {
    const step = presentStep(machine);
    if (step === null) {
      const streams = [...kept.values()];
      end(() => settle.resolve({ form: 1, check: definition.check, subject, steps: [...machine.done], streams }));
      return;
    }
    if (step.step === 'select' || step.step === 'position') void ask(step);
  };
  const ask = async (step: Extract<CheckStep, { step: 'select' | 'position' }>): Promise<void> => {
    // Never in the turn of the caller: the first step must not answer before there is anybody to tell.
    await Promise.resolve();
    if (over) return;
    try {
      const selector = options.rig.selector();
      if (selector === undefined) throw refusal('the valve is not connected', rig.name, 'Connect it, then check.');
      const { atMicroseconds, port } =
        step.step === 'select'
          ? { ...(await selector.select(step.port, cancellation.signal)), port: step.port }
          : await selector.position(cancellation.signal);
      const confirmedAtMicroseconds = Math.max(0, Math.round(atMicroseconds) - beganAt);
      take({ event: 'valve', valve: { confirmedAtMicroseconds, port, detail: '' } });
    } catch (error) {
      if (over) return;
      // Where the valve itself is looked at, what it will not do is what was found.
      if (definition.check === 'valve' && isChambersideError(error)) {
        take({ event: 'valve', valve: { confirmedAtMicroseconds: null, port: null, detail: error.what } });
      } else end(() => settle.reject(error));
    }
  };

  /** Readings of the photometer since the step began. */
  const recent = (): ReferenceReading[] => {
    const readings: ReferenceReading[] = [];
    for (let index = (photometer?.values.length ?? 0) - 1; index >= 0; index -= 1) {
      const atMicroseconds = photometer?.atMicroseconds[index] ?? 0;
      if (atMicroseconds < machine.beganAtMicroseconds) break;
      readings.push({ atMicroseconds, value: photometer?.values[index] ?? Number.NaN });
    }
    return readings.reverse();
  };
  const tick = (): void => {
    if (over) return;
    cancelTick = clock.after(tickMicroseconds, tick);
    const step = presentStep(machine);
    if (step?.step === 'settle' || step?.step === 'read') take({ event: 'tick', recent: recent() });
  };
  tick();
  enter();

  return {
    get state() {
      const rest = machine.steps.slice(machine.at + 1).reduce((sum, step) => sum + leastSeconds(step), 0);
      const step = presentStep(machine);
      const stepSeconds = toSeconds(now() - machine.beganAtMicroseconds);
      const present = step === null ? 0 : Math.max(0, leastSeconds(step) - stepSeconds);
      return {
        check: definition.check,
        subject,
        condition: options.condition,
        steps: [...machine.steps],
        at: machine.at,
        stepSeconds,
        secondsLeft: present + rest,
        secondsInAll: machine.steps.reduce((sum, one) => sum + leastSeconds(one), 0),
      };
    },
    finished,
    observeReading({ atMicroseconds, instrument, stream, value }) {
      // What somebody does with their hands meanwhile may take all night, and is no part of the record.
      if (over || presentStep(machine)?.step === 'ask' || !Number.isFinite(value)) return;
      const column = kept.get(`${instrument}/${stream}`);
      const at = Math.round(atMicroseconds) - beganAt;
      if (column === undefined || at < 0) return;
      column.atMicroseconds.push(at);
      column.values.push(value);
    },
    answer(answers) {
      const step = presentStep(machine);
      if (over || step?.step !== 'ask') throw refusal('nothing is asked now', definition.check, 'Wait for the check.');
      if (!answersFit(step.fields, answers)) {
        const fields = step.fields.map(({ field, high, low }) => `${field} from ${low} to ${high}`).join(', ');
        const what = fields === '' ? 'the answer has a value that nobody asked for' : `the answer must give ${fields}`;
        throw new ChambersideError('usage-bad-value', what, definition.check, 'Correct it.');
      }
      options.onAnswer(step, answers);
      take({ event: 'answer', answers, daySeconds: daySecondsOf(options.wallNow()) });
    },
    cancel: () => end(() => settle.resolve(null)),
  };
}

/** Seconds since local midnight, as a clock on the wall beside the machine shows them. */
function daySecondsOf(wall: Date): number {
  return wall.getHours() * 3600 + wall.getMinutes() * 60 + wall.getSeconds() + wall.getMilliseconds() / 1000;
}
