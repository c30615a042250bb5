import type { ReferenceReading } from '../steadiness.ts';
import { judgeLevel, judgeSteadiness } from '../steadiness.ts';
import type { Answers, AskField, CheckStep, StepRecord } from './step.ts';

/** A check under way: one step after the other. Times in µs since it began. */
export interface CheckMachine {
  readonly steps: readonly CheckStep[];
  /** Index of the step under way; the number of steps when all are done. */
  readonly at: number;
  readonly beganAtMicroseconds: number;
  readonly done: readonly StepRecord[];
}

export type CheckEvent =
  | { readonly event: 'tick'; readonly recent: readonly ReferenceReading[] }
  /** The valve answered a request for a port, or the question where it stands. */
  | { readonly event: 'valve'; readonly valve: NonNullable<StepRecord['valve']> }
  | { readonly event: 'answer'; readonly answers: Answers; readonly daySeconds: number };

/** Gaps in the readings may be a tenth of the window. */
const missingShare = 0.1;

export function beginCheckMachine(steps: readonly CheckStep[]): CheckMachine {
  return { steps, at: 0, beganAtMicroseconds: 0, done: [] };
}

/** The step under way; null when all are done. */
export function presentStep({ at, steps }: CheckMachine): CheckStep | null {
  return steps[at] ?? null;
}

/**
 * What follows from an event. The same machine where nothing does: an answer that nobody asked for changes nothing.
 * @param recent of a tick: readings of the photometer, in order, at least those since the step began.
 */
export function advanceCheck(machine: CheckMachine, event: CheckEvent, nowMicroseconds: number): CheckMachine {
  const step = presentStep(machine);
  if (step === null) return machine;
  const next = (part: Partial<StepRecord> = {}): CheckMachine => ({
    steps: machine.steps,
    at: machine.at + 1,
    beganAtMicroseconds: nowMicroseconds,
    done: [
      ...machine.done,
      {
        step,
        beganAtMicroseconds: machine.beganAtMicroseconds,
        endedAtMicroseconds: nowMicroseconds,
        steady: null,
        valve: null,
        answers: {},
        daySeconds: null,
        ...part,
      },
    ],
  });
  switch (step.step) {
    case 'select':
    case 'position':
      return event.event === 'valve' ? next({ valve: event.valve }) : machine;
    case 'ask':
      return event.event === 'answer' && answersFit(step.fields, event.answers)
        ? next({ answers: event.answers, daySeconds: event.daySeconds })
        : machine;
    case 'read':
      return event.event === 'tick' && nowMicroseconds >= machine.beganAtMicroseconds + step.seconds * 1e6
        ? next()
        : machine;
    case 'settle': {
      if (event.event !== 'tick') return machine;
      const settledFrom = machine.beganAtMicroseconds + step.leastSeconds * 1e6;
      if (nowMicroseconds < settledFrom + step.windowSeconds * 1e6) return machine;
      if (isSettled(step, event.recent, nowMicroseconds, settledFrom)) return next({ steady: true });
      const over = nowMicroseconds >= machine.beganAtMicroseconds + step.mostSeconds * 1e6;
      return over ? next({ steady: false }) : machine;
    }
  }
}

function isSettled(
  step: Extract<CheckStep, { step: 'settle' }>,
  recent: readonly ReferenceReading[],
  nowMicroseconds: number,
  settledFromMicroseconds: number,
): boolean {
  const windowMicroseconds = step.windowSeconds * 1e6;
  const { settle } = step;
  if (settle.rule === 'challenge') {
    const { leastMean, mostChangePercent, rangePercent } = settle;
    const limits = { windowMicroseconds, rangePercent, leastMean, missingShare };
    const course = { windowMicroseconds, mostChange: 0, mostChangePercent, missingShare };
    return (
      judgeSteadiness(recent, nowMicroseconds, settledFromMicroseconds, limits).steady &&
      judgeLevel(recent, nowMicroseconds, settledFromMicroseconds, course)
    );
  }
  const { mostChange, mostChangePercent } = settle;
  const limits = { windowMicroseconds, mostChange, mostChangePercent, missingShare };
  return judgeLevel(recent, nowMicroseconds, settledFromMicroseconds, limits);
}

/** Whether every field has a value within what it may be, and nothing else is said. */
export function answersFit(fields: readonly AskField[], answers: Answers): boolean {
  return (
    Object.keys(answers).length === fields.length &&
    fields.every(({ field, high, low }) => {
      const value = answers[field];
      return value !== undefined && value >= low && value <= high;
    })
  );
}

/** Least time that a step takes, s; a valve is counted as half a second, a person as none. */
export function leastSeconds(step: CheckStep): number {
  switch (step.step) {
    case 'select':
    case 'position':
      return 0.5;
    case 'settle':
      return step.leastSeconds + step.windowSeconds;
    case 'read':
      return step.seconds;
    case 'ask':
      return 0;
  }
}
