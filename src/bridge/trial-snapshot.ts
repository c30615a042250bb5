import { z } from 'zod';
import { identifierSchema, slugSchema } from '../model/identity.ts';
import { movementSchema } from '../model/series.ts';
import { microsecondsSchema } from '../model/time.ts';
import {
  afterAnswerSchema,
  afterItemSchema,
  beforeAnswerSchema,
  beforeItemSchema,
  dwellSchema,
  trialHeaderSchema,
  trialPhaseSchema,
  dwellPurposeSchema,
  stageSchema,
} from '../model/trial-event.ts';

/** A dwell that has begun, with what became of it so far. Times are trial time, µs. */
export const dwellViewSchema = dwellSchema.extend({
  plannedAtMicroseconds: microsecondsSchema,
  requestedAtMicroseconds: microsecondsSchema.nullable(),
  /** Null until the valve confirmed the port. */
  acknowledgedAtMicroseconds: microsecondsSchema.nullable(),
  unconfirmed: z.boolean(),
  endedAtMicroseconds: microsecondsSchema.nullable(),
  /** False when it was cut short; meaningless until it has ended. */
  complete: z.boolean(),
});
export type DwellView = z.infer<typeof dwellViewSchema>;

/** What the newest value of a probe is, and how far it can be trusted. */
export const laneViewSchema = z.object({
  probe: slugSchema,
  state: z.enum([
    /** Never measured in this trial. */
    'not-yet',
    /** The valve is on it; what arrives is not its settled air yet. */
    'settling',
    'measuring',
    /** Measured before; the value has an age. */
    'waiting',
    /** No number can be given; `detail` says why. */
    'no-result',
  ]),
  /**
   * Percent of the challenge, provisional: the newest zero and reference, no interpolation yet. Null where there is
   * none; the signed number also below the detection limit.
   */
  windowPercent: z.number().nullable(),
  /** 95 % interval of the air seen, provisional and signed; null before the third zero and the third reference. */
  windowLowPercent: z.number().nullable(),
  windowHighPercent: z.number().nullable(),
  detectionLimitPercent: z.number().nullable(),
  belowDetectionLimit: z.boolean(),
  /** End of the newest usable air, trial time; null when never. */
  measuredToMicroseconds: microsecondsSchema.nullable(),
  /** Usable seconds seen and planned in the newest dwell. */
  usableSeconds: z.number(),
  usableSecondsPlanned: z.number(),
  /** Flags of the newest value, codes of `src/leakage/flag.ts`. */
  flags: z.array(z.string()),
  detail: z.string().nullable(),
});
export type LaneView = z.infer<typeof laneViewSchema>;

/** How an exercise stands in the timeline. */
export const exerciseViewSchema = z.object({
  exercise: slugSchema,
  name: z.string(),
  instruction: z.string(),
  /** What the operator is to look at in it; null: nothing besides. */
  operatorText: z.string().nullable(),
  restSeconds: z.number(),
  /** Added to its rests in this trial by a person, s. */
  restLengthenedSeconds: z.number().nonnegative(),
  durationSeconds: z.number(),
  cadencePerMinute: z.number().nullable(),
  /** Null: no figure shows it. */
  movement: movementSchema.nullable(),
  workRateWatts: z.number().nullable(),
  state: z.enum(['to-come', 'now', 'done', 'skipped']),
  /** Times it has been begun. */
  attempts: z.number().int(),
  /** Trial time of its first movement, last attempt; null when never begun. */
  beganAtMicroseconds: microsecondsSchema.nullable(),
  endedAtMicroseconds: microsecondsSchema.nullable(),
  /** Doubt that is known already, flag codes; empty when none. */
  flags: z.array(z.string()),
});
export type ExerciseView = z.infer<typeof exerciseViewSchema>;

/** What happens now and until when; the countdown is `untilMicroseconds` minus the trial clock. */
export const nowViewSchema = z.object({
  /** `waiting`: entry, until the challenge is steady. */
  kind: z.enum([
    'prepared',
    'background',
    'waiting',
    'rest',
    'lead-in',
    'exercise',
    'closing',
    'held',
    'stopped',
    'closed',
  ]),
  stage: stageSchema.nullable(),
  exercise: slugSchema.nullable(),
  sinceMicroseconds: microsecondsSchema,
  /** Null where the end is not known. */
  untilMicroseconds: microsecondsSchema.nullable(),
  /** The port that is meant, and what its air is good for now. */
  port: z.number().int().nullable(),
  probe: slugSchema.nullable(),
  purpose: dwellPurposeSchema.nullable(),
  air: z.enum(['none', 'moving', 'transit', 'settling', 'usable', 'unconfirmed', 'no-reading']),
  /** Trial time at which the air becomes usable; null when not known or it is. */
  usableFromMicroseconds: microsecondsSchema.nullable(),
  dwellUntilMicroseconds: microsecondsSchema.nullable(),
  /** Added to the rest under way by a person, and counted in `untilMicroseconds`; 0 in all else. µs */
  lengthenedMicroseconds: z.number().int().nonnegative(),
});
export type NowView = z.infer<typeof nowViewSchema>;

/** What comes after: for `rest` and `exercise` with their length. */
export const nextViewSchema = z.object({
  kind: z.enum(['background', 'waiting', 'rest', 'exercise', 'closing', 'end']),
  exercise: slugSchema.nullable(),
  seconds: z.number().nullable(),
});

/** A moment in the list of what happened: marks, holds, alarms, problems. Newest last, at most 200. */
export const noteViewSchema = z.object({
  atMicroseconds: microsecondsSchema,
  kind: z.string(),
  text: z.string(),
  person: z.string().nullable(),
});

export const trialSnapshotSchema = z.object({
  trial: identifierSchema,
  /** File of the study it is recorded into. */
  file: z.string(),
  header: trialHeaderSchema,
  phase: trialPhaseSchema,
  heldBecause: z.enum(['operator', 'challenge-unsteady', 'late', 'interrupted']).nullable(),
  /** In words, for `held` and `stopped`. */
  reason: z.string().nullable(),
  /** Set at the end: `sealing` and `assessing` take moments; `done` means that the result can be read. */
  ending: z.enum(['no', 'sealing', 'assessing', 'done', 'failed']),
  endingFailure: z.string().nullable(),
  /** Trial time when the snapshot was made, µs. The sample channel carries it more often. */
  atMicroseconds: microsecondsSchema,
  /** Planned end of the whole trial if nobody holds from now on, µs. */
  endsAtMicroseconds: microsecondsSchema.nullable(),
  now: nowViewSchema,
  next: nextViewSchema,
  exercises: z.array(exerciseViewSchema),
  /** In order of beginning, at most the last 400. */
  dwells: z.array(dwellViewSchema),
  /** Planned dwells from now on, in order, at most 12. Times assume that nobody holds. */
  planned: z.array(
    z.object({
      probe: slugSchema,
      port: z.number().int(),
      purpose: dwellPurposeSchema,
      exercise: slugSchema.nullable(),
      fromMicroseconds: microsecondsSchema,
      toMicroseconds: microsecondsSchema,
    }),
  ),
  /** Probes in body order: the order of the rig. */
  lanes: z.array(laneViewSchema),
  /** Newest settled means, unit of the photometer stream; null before the first. */
  challenge: z
    .object({
      meanReading: z.number(),
      measuredToMicroseconds: microsecondsSchema,
      /** Against the first reference of the trial, percent. */
      changePercent: z.number().nullable(),
    })
    .nullable(),
  filteredAir: z.object({ meanReading: z.number(), measuredToMicroseconds: microsecondsSchema }).nullable(),
  /** Leakage that the requirement allows, percent; null when none was set. */
  requirementPercent: z.number().nullable(),
  /** Highest heart rate allowed, per minute; null when no belt is watched. */
  heartRateLimit: z.number().nullable(),
  /**
   * Whether the subject can stop the trial by a contact: `none` where the rig has none, `unheard` before the first
   * reading. Nothing sets them in motion unless it is `none` or `armed`.
   */
  subjectStop: z.enum(['none', 'unheard', 'lost', 'pressed', 'armed']),
  /**
   * What is gone through before the start, in order; empty when the trial is not prepared any more. On a virtual rig
   * nobody is inside, and nothing of it holds the start back.
   */
  before: z.array(
    z.object({
      item: beforeItemSchema,
      title: z.string(),
      detail: z.string(),
      /** Cannot be passed over. */
      must: z.boolean(),
      /** Two people answer. */
      two: z.boolean(),
      /** A contact answers, and no person can. */
      byContact: z.boolean(),
      /** It can only be passed over. */
      passOnly: z.boolean(),
      answer: beforeAnswerSchema.nullable(),
    }),
  ),
  /**
   * What is gone through when the series has ended or the trial was stopped, in order; empty while it is not offered.
   */
  after: z.array(
    z.object({
      item: afterItemSchema,
      title: z.string(),
      detail: z.string(),
      /** Cannot be passed over. */
      must: z.boolean(),
      /** What is said where nothing was found, and where something was. */
      good: z.string(),
      found: z.string(),
      /** What the program measured; null where nothing is. Only what is good can be confirmed. */
      measured: z.object({ verdict: z.enum(['good', 'doubt', 'open']), text: z.string() }).nullable(),
      answer: afterAnswerSchema.nullable(),
    }),
  ),
  /** The trial is closed, and its sealing waits for that list. */
  afterHolds: z.boolean(),
  /** Actions that would be accepted now. */
  allowed: z.array(
    z.enum(['start', 'hold', 'go-on', 'repeat', 'skip', 'extend-rest', 'stop', 'close', 'mark', 'valve']),
  ),
  notes: z.array(noteViewSchema),
  /** Totals of this trial. */
  counts: z.object({ readings: z.number(), problems: z.number(), dwells: z.number(), alarms: z.number() }),
});
export type TrialSnapshot = z.infer<typeof trialSnapshotSchema>;
