import { z } from 'zod';
import { identifierSchema, slugSchema } from './identity.ts';
import { problemSchema } from './reading.ts';
import { supportingCertificateSchema } from './certificate.ts';
import { supportingCheckSchema } from './supporting-check.ts';
import { microsecondsSchema, timeSegmentSchema } from './time.ts';
import { watchedLimitSchema } from './watched-limit.ts';

/** Parts of a trial, in order. */
export const stageSchema = z.enum(['background', 'entry', 'rest', 'exercise', 'closing']);
export type Stage = z.infer<typeof stageSchema>;

/** What a dwell is for: which of the four things the photometer looks at. */
export const dwellPurposeSchema = z.enum(['zero', 'reference', 'background', 'probe']);
export type DwellPurpose = z.infer<typeof dwellPurposeSchema>;

/** One stay of the selector valve on one port. `dwell` counts from 0 over the whole trial, repeats included. */
export const dwellSchema = z.object({
  dwell: z.number().int().nonnegative(),
  /** Index of the step of the compiled schedule that it performs. */
  step: z.number().int().nonnegative(),
  stage: stageSchema,
  purpose: dwellPurposeSchema,
  port: z.number().int().positive(),
  probe: slugSchema,
  /** Exercise in which it lies or which follows (rest); null in background, entry and closing. */
  exercise: slugSchema.nullable(),
  /** Position among the probe dwells of the exercise, from 1; null for other purposes. */
  dwellPosition: z.number().int().positive().nullable(),
  /** How often this exercise has been started in this trial, from 1; 0 outside exercises. */
  attempt: z.number().int().nonnegative(),
});
export type Dwell = z.infer<typeof dwellSchema>;

export const trialPhaseSchema = z.enum(['prepared', 'running', 'held', 'stopped', 'closed']);
export type TrialPhase = z.infer<typeof trialPhaseSchema>;

/** Who is recorded for what the subject did. */
export const subjectPerson = 'subject';
/** Who is recorded for a move that must not wait until somebody has said who they are. */
export const unknownPerson = 'unknown';
/** What stands in records in place of a person's code, and is therefore nobody's. */
export const reservedCodes: readonly string[] = [subjectPerson, unknownPerson];

const at = { atMicroseconds: microsecondsSchema };

/** What is gone through before the subject is set in motion. */
export const beforeItemSchema = z.enum([
  'clearance',
  'consent',
  'well',
  'ensemble',
  'breathing-air',
  'second-person',
  'subject-stop',
  'certificates',
]);
export type BeforeItem = z.infer<typeof beforeItemSchema>;

/** The answer that stands for one of them. */
export const beforeAnswerSchema = z.object({
  answer: z.enum(['confirmed', 'passed-over']),
  /** Codes; `subject` where a contact answered. */
  persons: z.array(z.string().min(1)).min(1).max(2),
  /** Why it was passed over; what was pressed; else empty. */
  note: z.string(),
  ...at,
});
export type BeforeAnswer = z.infer<typeof beforeAnswerSchema>;

/** What is gone through when the series has ended or the trial was stopped. */
export const afterItemSchema = z.enum(['recovery', 'symptoms', 'ensemble', 'drift']);
export type AfterItem = z.infer<typeof afterItemSchema>;

/** The answer that stands for one of them. */
export const afterAnswerSchema = z.object({
  /** `noted`: something was found, and is told in the note. */
  answer: z.enum(['confirmed', 'noted', 'passed-over']),
  /** Codes. */
  persons: z.array(z.string().min(1)).min(1).max(2),
  /** What was found; why it was passed over; else empty. */
  note: z.string(),
  /** What the program had measured when it was answered, in words; empty where nothing is measured. */
  measured: z.string(),
  ...at,
});
export type AfterAnswer = z.infer<typeof afterAnswerSchema>;

/**
 * Everything that happens in a trial besides readings, in one chain with them. `atMicroseconds` is when it
 * happened on the trial clock.
 */
export const trialEventSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('segment-began'), ...at, segment: timeSegmentSchema }),
  z.object({
    kind: z.literal('phase-changed'),
    ...at,
    from: trialPhaseSchema,
    to: trialPhaseSchema,
    reason: z.string(),
    /** The trial machine's whole state after the change, so that a restart needs nothing else. */
    machine: z.unknown(),
  }),
  z.object({
    kind: z.literal('dwell-began'),
    ...at,
    dwell: dwellSchema,
    plannedAtMicroseconds: microsecondsSchema,
    machine: z.unknown(),
  }),
  z.object({ kind: z.literal('port-requested'), ...at, dwell: z.number().int(), port: z.number().int() }),
  /** The valve says that it is on the port: the beginning of the dwell on the dwell clock. */
  z.object({ kind: z.literal('port-acknowledged'), ...at, dwell: z.number().int(), port: z.number().int() }),
  z.object({
    kind: z.literal('port-unconfirmed'),
    ...at,
    dwell: z.number().int(),
    port: z.number().int(),
    detail: z.string(),
  }),
  /** The valve leaves the port: the moment of the next request. `complete` is false when it was cut short. */
  z.object({
    kind: z.literal('dwell-ended'),
    ...at,
    dwell: z.number().int(),
    complete: z.boolean(),
    reason: z.string(),
  }),
  z.object({ kind: z.literal('exercise-began'), ...at, exercise: slugSchema, attempt: z.number().int() }),
  z.object({
    kind: z.literal('exercise-ended'),
    ...at,
    exercise: slugSchema,
    attempt: z.number().int(),
    complete: z.boolean(),
  }),
  /** Said or shown to the subject. */
  z.object({
    kind: z.literal('cue'),
    ...at,
    cue: z.enum(['enter', 'rest', 'begin', 'end', 'stop', 'leave']),
    exercise: slugSchema.nullable(),
    text: z.string(),
  }),
  z.object({
    kind: z.literal('challenge-judged'),
    ...at,
    steady: z.boolean(),
    rangePercent: z.number().nullable(),
    meanReading: z.number().nullable(),
  }),
  z.object({
    kind: z.literal('operator-action'),
    ...at,
    action: z.enum(['start', 'hold', 'go-on', 'repeat', 'skip', 'stop', 'close', 'mark']),
    person: z.string(),
    note: z.string(),
    /** By what it was done, where no window was used: a stop in the subject's hand or under their foot. */
    source: z.object({ source: z.literal('contact'), instrument: slugSchema, stream: slugSchema }).optional(),
  }),
  /** Of the list that is gone through before the start. `withdrawn`: the answer before it no longer stands. */
  z.object({
    kind: z.literal('before-answered'),
    ...beforeAnswerSchema.shape,
    item: beforeItemSchema,
    answer: z.enum(['confirmed', 'passed-over', 'withdrawn']),
  }),
  /** Of the list that is gone through after the trial. `withdrawn`: the answer before it no longer stands. */
  z.object({
    kind: z.literal('after-answered'),
    ...afterAnswerSchema.shape,
    item: afterItemSchema,
    answer: z.enum(['confirmed', 'noted', 'passed-over', 'withdrawn']),
  }),
  /** A person made the rest under way longer: its dwell, and with it all that follows, ends as much later. */
  z.object({
    kind: z.literal('rest-lengthened'),
    ...at,
    dwell: z.number().int(),
    /** The one that follows the rest. */
    exercise: slugSchema,
    byMicroseconds: z.number().int().positive(),
    person: z.string(),
    note: z.string(),
  }),
  z.object({
    kind: z.literal('alarm-raised'),
    ...at,
    alarm: slugSchema,
    instrument: slugSchema.nullable(),
    detail: z.string(),
  }),
  z.object({
    kind: z.literal('alarm-cleared'),
    ...at,
    alarm: slugSchema,
    instrument: slugSchema.nullable(),
    detail: z.string(),
  }),
  /** A person has seen the alarm; whether its cause has gone is another matter. */
  z.object({
    kind: z.literal('alarm-acknowledged'),
    ...at,
    alarm: slugSchema,
    instrument: slugSchema.nullable(),
    /** Code of the person. */
    person: z.string(),
    reason: z.string(),
  }),
  /** The valve was turned by hand while the trial stood; what it answered stands with its bytes. */
  z.object({ kind: z.literal('valve-by-hand'), ...at, port: z.number().int(), person: z.string() }),
  /** What a person noted of this moment; changes nothing in the trial. */
  z.object({
    kind: z.literal('mark-noted'),
    ...at,
    person: z.string(),
    note: z.string(),
    /** Clock of the window in which it was noted, minus that of the host, µs; absent when they were not compared. */
    windowOffsetMicroseconds: z.number().int().optional(),
  }),
  /** The program did not run: the machine slept, or the process stood still. The trial is held as of the loss. */
  z.object({
    kind: z.literal('time-lost'),
    ...at,
    cause: z.enum(['sleep', 'standstill']),
    /** What gave it away. `wall-clock`: there is no boot clock, and it may have been set instead. */
    evidence: z.enum(['boot-clock', 'wall-clock', 'late-call']),
    /** Last sign of life before it. */
    lostAtMicroseconds: microsecondsSchema,
    /** From there to the first sign of life after it. */
    lostMicroseconds: microsecondsSchema,
  }),
  /** The wall clock of the machine was set while the program ran, by this much; negative: back. */
  z.object({ kind: z.literal('wall-clock-set'), ...at, byMicroseconds: z.number().int() }),
  z.object({ kind: z.literal('problem'), ...at, problem: problemSchema }),
]);
export type TrialEvent = z.infer<typeof trialEventSchema>;
export type TrialEventOf<Kind extends TrialEvent['kind']> = Extract<TrialEvent, { kind: Kind }>;

/** Who and what a trial is about, frozen when it begins. */
export const trialHeaderSchema = z.object({
  trial: identifierSchema,
  study: identifierSchema,
  /** New trials: a code (`codeSchema`). Records from before that rule are read as they are. */
  subject: z.string().min(1),
  ensemble: z.string().min(1),
  operator: z.string().min(1),
  virtual: z.boolean(),
  /** Version of the program that recorded it. */
  program: z.string(),
  /** What a rehearsal on the virtual rig needs to go on after a restart; absent in trials on real instruments. */
  rehearsal: z.object({ scenario: z.string(), seed: z.number().int() }).optional(),
  /** Highest heart rate allowed, per minute; absent when nobody set one. */
  heartRateLimit: z.number().positive().optional(),
  /**
   * Where that limit is from, in words, when it is one by the subject's age. The age itself is not recorded, but
   * follows from it.
   */
  heartRateLimitFrom: z.string().optional(),
  /** Checks of the rig as they stood when the trial was prepared; absent: nothing is known of them. */
  checks: z.array(supportingCheckSchema).optional(),
  /** Certificates of what worked in the rig when the trial was prepared; absent: none of it was registered. */
  certificates: z.array(supportingCertificateSchema).optional(),
  /** Limits that the plan set besides those of the rig; absent: none. */
  watch: z.array(watchedLimitSchema).optional(),
  /** Leakage that the requirement allows, percent; absent when there is none. */
  requirementPercent: z.number().positive().optional(),
  /** The trial of the same study that this one does again; absent where it is none's repeat. */
  repeats: z
    .object({
      trial: identifierSchema,
      /** Exercise with which it begins; null: all of the series. */
      from: slugSchema.nullable(),
    })
    .optional(),
  /** Where it was recorded, when it was taken in from a data package; absent where it was recorded here. */
  imported: z
    .object({
      study: identifierSchema,
      /** Digest of the last link of the chain in which it was recorded, hexadecimal. */
      head: z.string(),
      /** ISO 8601 in UTC. */
      at: z.string(),
    })
    .optional(),
});
export type TrialHeader = z.infer<typeof trialHeaderSchema>;
