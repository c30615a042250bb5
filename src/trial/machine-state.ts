import { z } from 'zod';
import { microsecondsSchema } from '../model/time.ts';
import { trialPhaseSchema } from '../model/trial-event.ts';
import type { Schedule } from '../series/schedule.ts';

const index = z.number().int().nonnegative();

/** The request for a port that the machine last made, and what became of it. */
const requestSchema = z.object({
  /** Number of the request in this trial: an answer to an older one is recognised by it. */
  request: index,
  /** Dwell that it serves; −1 when the valve is parked and nothing is measured. */
  dwell: z.number().int().min(-1),
  port: z.number().int().positive(),
  status: z.enum(['requested', 'acknowledged', 'unconfirmed']),
  /** How often this port has been asked for in this dwell, from 1. */
  tries: z.number().int().positive(),
  /** When the valve confirmed it; null until then. */
  acknowledgedAtMicroseconds: microsecondsSchema.nullable(),
  /** When to ask again after a failure; null when not. */
  retryAtMicroseconds: microsecondsSchema.nullable(),
});

/**
 * Everything the trial machine knows, as plain data: it survives JSON, and is stored in the events
 * `phase-changed` and `dwell-began` so that a restart needs nothing else.
 */
export const trialMachineSchema = z.object({
  phase: trialPhaseSchema,
  /** Latest time it has seen, µs; inputs from before count as of now. */
  nowMicroseconds: microsecondsSchema,
  /** Where it is in the schedule, or where it goes on after a hold. */
  cursor: z.object({
    step: index,
    /** Step after this one when that is not simply the next: the broken dwell after a fresh lead-in. */
    then: index.nullable(),
    /** True when the step is done again after a hold: the exercise keeps its attempt number. */
    recovering: z.boolean(),
  }),
  /** The dwell under way; null when none is. */
  dwell: z
    .object({
      dwell: index,
      step: index,
      /** On the plan, not when it came to be: deadlines do not drift. µs */
      plannedAtMicroseconds: microsecondsSchema,
      deadlineMicroseconds: microsecondsSchema,
      /** Added to this dwell by a person; its cues that are still to come are as much later. µs */
      lengthenedMicroseconds: index.default(0),
      /** Cues of the step that have been given. */
      cuesGiven: index,
      /** Only while waiting for a steady challenge. */
      entry: z
        .object({
          judgeAtMicroseconds: microsecondsSchema,
          /** A judgement has been asked for and not been answered. */
          asked: z.boolean(),
          /** The one that was asked for last is the last one. */
          final: z.boolean(),
        })
        .nullable(),
    })
    .nullable(),
  request: requestSchema.nullable(),
  nextDwell: index,
  nextRequest: index,
  /** Times each exercise of the series has been started. */
  attempts: z.array(index),
  /** The exercise in which the subject is moving now. */
  moving: z.object({ exerciseIndex: index, attempt: z.number().int().positive() }).nullable(),
  /** Added to the rest under way by a person, over all its dwells; 0 outside a rest. µs */
  restLengthenedMicroseconds: index.default(0),
  /** Why it is held; null in other phases. */
  held: z.enum(['operator', 'challenge-unsteady', 'late', 'interrupted']).nullable(),
});
export type TrialMachine = z.infer<typeof trialMachineSchema>;

/** The machine before the start of a trial. */
export function prepareMachine(schedule: Schedule): TrialMachine {
  return {
    phase: 'prepared',
    nowMicroseconds: 0,
    cursor: { step: 0, then: null, recovering: false },
    dwell: null,
    request: null,
    nextDwell: 0,
    nextRequest: 0,
    attempts: schedule.exercises.map(() => 0),
    moving: null,
    restLengthenedMicroseconds: 0,
    held: null,
  };
}
