import { z } from 'zod';
import { budgetGapSchema, budgetLineNameSchema } from './budget/line.ts';
import { supportingCertificateSchema } from '../model/certificate.ts';
import { identifierSchema, slugSchema } from '../model/identity.ts';
import { methodSchema } from '../model/method.ts';
import { statedSchema } from '../model/rig.ts';
import { unitNames } from '../model/unit.ts';
import { doubtSchema } from './doubt.ts';
import { flagSchema } from './flag.ts';
import { leftOutOfTrialSchema } from './left-out.ts';

/** Trial time, µs; probe time may lie before the clock began. */
const momentSchema = z.number();
const dwellNumberSchema = z.number().int().nonnegative();

/** Readings of a window that follow each other, between stretches that are left out. */
const pieceSchema = z.object({
  fromMicroseconds: momentSchema,
  toMicroseconds: momentSchema,
  readings: z.number().int(),
  endReadings: z.number().int(),
  /** What it counts with among the others, s. */
  weightSeconds: z.number(),
  meanReading: z.number(),
  startMean: z.number().nullable(),
  endMean: z.number().nullable(),
  lagTerm: z.number(),
  correctedReading: z.number(),
});
export type ExplainedPiece = z.infer<typeof pieceSchema>;

/**
 * A dwell's window with everything that its mean comes from. Readings are in the photometer's unit. The mean is
 * Σ(share · reading) / Σ share, and correctedReading = meanReading + tau · (endMean − startMean) / lagSeconds.
 */
export const explainedWindowSchema = z.object({
  dwell: dwellNumberSchema,
  purpose: z.enum(['zero', 'reference', 'background', 'probe']),
  port: z.number().int(),
  probe: slugSchema,
  label: z.string(),
  acknowledgedAtMicroseconds: momentSchema,
  releasedAtMicroseconds: momentSchema,
  /** What lies between valve and reading at the beginning of the window, without settling, s. */
  delaySeconds: z.number(),
  /** The same at its end: common line and instrument, s. */
  commonDelaySeconds: z.number(),
  settlingSeconds: z.number(),
  guardSeconds: z.number(),
  /** The window, half-open, arrival time: acknowledged + delay + settling, released + common delay − guard. */
  fromMicroseconds: momentSchema,
  toMicroseconds: momentSchema,
  /** True when it ends with the last reading before a break in time instead. */
  cutByLoss: z.boolean(),
  /** The stretch that correctedReading is the mean of, arrival time, and the same on probe time. */
  meanFromMicroseconds: momentSchema,
  meanToMicroseconds: momentSchema,
  /** From the probe to the reading: port line, common line and instrument; probe time is arrival minus this, s. */
  probeDelaySeconds: z.number(),
  readings: z.number().int(),
  /** Arrival of the first and the last reading. */
  firstAtMicroseconds: momentSchema,
  lastAtMicroseconds: momentSchema,
  meanReading: z.number(),
  /** Readings averaged at either end, 0 without lag correction. */
  endReadings: z.number().int(),
  startMean: z.number().nullable(),
  endMean: z.number().nullable(),
  lagSeconds: z.number().nullable(),
  lagTerm: z.number(),
  correctedReading: z.number(),
  /** Σ w² of the weights with which readings enter correctedReading. */
  squaredWeights: z.number(),
  /** s · √(g · Σ w²); null while scatter is not known. */
  noiseReading: z.number().nullable(),
  /** Reading just before this port's air arrived, minus correctedReading; null when nothing tells. */
  stepReading: z.number().nullable(),
  /** From the arrival of this port's air to the beginning of the stretch, s. */
  settledSeconds: z.number(),
  carryOverReading: z.number(),
  /** Everything that arrived in the window: time, value, and how often it counts in the mean, in halves. */
  values: z.array(
    z.object({ atMicroseconds: momentSchema, value: z.number(), share: z.number().int().nonnegative() }),
  ),
  /**
   * Where readings of the window are left out: their number, their share being 0, and what is left. A mean over the
   * window is then Σ(weightSeconds · that of the piece) / Σ weightSeconds. Absent: nothing is left out.
   */
  leftOut: z.object({ readings: z.number().int(), pieces: z.array(pieceSchema) }).optional(),
});
export type ExplainedWindow = z.infer<typeof explainedWindowSchema>;

const anchorSchema = z.object({ dwell: dwellNumberSchema, atMicroseconds: momentSchema, reading: z.number() });

/** value = (1 − weightAfter) · before + weightAfter · after, for one moment on one axis; a missing side counts 0. */
const anchoredSchema = z.object({
  axis: z.enum(['arrival', 'probe']),
  atMicroseconds: momentSchema,
  before: anchorSchema.nullable(),
  after: anchorSchema.nullable(),
  weightAfter: z.number(),
  reading: z.number(),
});
export type ExplainedAnchor = z.infer<typeof anchoredSchema>;

/** Times in and out of breath inside a window, on probe time: factor = (inspired + expired)/inspired. */
const breathingSchema = z.object({
  inspiredSeconds: z.number(),
  expiredSeconds: z.number(),
  factor: z.number(),
  factorUncertainty: z.number(),
  /** Stretches of breathing in, as far as they lie in the window; what they add up to is inspiredSeconds. */
  inspirations: z.array(z.object({ fromMicroseconds: momentSchema, toMicroseconds: momentSchema })),
});
export type ExplainedBreathing = z.infer<typeof breathingSchema>;

/**
 * One dwell turned into leakage:
 * windowPercent = netReading · percentPerReading, netReading = (R − Z) − B, and
 * percentPerReading = 100 · (dilution / penetration) / (spatialFactor · spanNet · referenceDilution /
 * referencePenetration), spanNet = S − Z; divided by linearity where a certificate states it. With `breathing`,
 * percentPerReading is times its factor, and netReading = (R − Z) − B · (factor of the background)/(that factor).
 */
const partSchema = z.object({
  dwell: dwellNumberSchema,
  dwellPosition: z.number().int().nullable(),
  /** Its share in the value of the cell: length of its stretch among those of all parts with a number. */
  weight: z.number(),
  /** False where the dwell has no usable window; then everything below is null. */
  read: z.boolean(),
  zero: anchoredSchema.nullable(),
  span: anchoredSchema.nullable(),
  background: z
    .object({
      dwell: dwellNumberSchema,
      zero: anchoredSchema,
      netReading: z.number(),
      /** In the breathing zone, of its own window; the part's netReading says what is subtracted. Absent: all of it. */
      breathing: breathingSchema.optional(),
    })
    .nullable(),
  dilution: z.number(),
  penetration: z.number(),
  referenceDilution: z.number(),
  referencePenetration: z.number(),
  spatialFactor: z.number(),
  /** Absent: no certificate states it. */
  linearity: z.number().optional(),
  /** Absent: the probe is not in the breathing zone, or is not corrected for. */
  breathing: breathingSchema.optional(),
  netReading: z.number().nullable(),
  spanNet: z.number().nullable(),
  percentPerReading: z.number().nullable(),
  windowPercent: z.number().nullable(),
  /** The references before and after, net of zero, held against each other. */
  challenge: z
    .object({
      beforeDwell: dwellNumberSchema,
      afterDwell: dwellNumberSchema,
      beforeNet: z.number(),
      afterNet: z.number(),
      changePercent: z.number(),
      limitPercent: z.number(),
    })
    .nullable(),
  /** Standard uncertainties of a net reading without leakage; shared is the root of the sum of the last three². */
  noise: z
    .object({
      window: z.number(),
      zeros: z.number(),
      background: z.number(),
      backgroundZeros: z.number(),
      shared: z.number(),
    })
    .nullable(),
  detectionLimitPercent: z.number().nullable(),
});
export type ExplainedPart = z.infer<typeof partSchema>;

/** One input of a budget: what it is, and what its doubt does to the value. */
const budgetInputSchema = z.object({
  input: z.string(),
  /** Of the input, in its own unit. */
  standardUncertainty: z.number(),
  /** Change of the value for one unit of the input, percent. */
  sensitivity: z.number(),
});

/** A certificate that the trial rests on, as it was frozen with it. */
const explainedCertificateSchema = z.object({
  ...supportingCertificateSchema.shape,
  /** The input of the trial that it gives, as in the budget; null where an assessment does not compute with it. */
  input: z.string().nullable(),
  /** What the rig states of that input, and is not computed with; null where it states nothing. */
  rigStates: statedSchema.nullable(),
});
export type ExplainedCertificate = z.infer<typeof explainedCertificateSchema>;

/**
 * The doubt of a value: standardPercent = √(Σ over lines (standardPercent of the line)²), that of a line
 * √(Σ over inputs (standardUncertainty · sensitivity)²); expandedPercent = coverageFactor · standardPercent.
 */
const budgetSchema = z.object({
  standardPercent: z.number(),
  /** Effective, by Welch and Satterthwaite; null: so many that they do not matter. */
  degreesOfFreedom: z.number().nullable(),
  coverageFactor: z.number(),
  expandedPercent: z.number(),
  lowPercent: z.number(),
  highPercent: z.number(),
  lines: z.array(
    z.object({
      line: budgetLineNameSchema,
      standardPercent: z.number(),
      degreesOfFreedom: z.number().nullable(),
      inputs: z.array(budgetInputSchema),
    }),
  ),
});
export type ExplainedBudget = z.infer<typeof budgetSchema>;

/** The interval of the air seen as it comes out when every input is drawn, held against the stated one. */
const drawnSchema = z.object({
  draws: z.number().int(),
  seed: z.number().int(),
  meanPercent: z.number(),
  standardPercent: z.number(),
  lowPercent: z.number(),
  highPercent: z.number(),
  differencePercent: z.number(),
  boundPercent: z.number(),
  agrees: z.boolean(),
});

/** What slices of an exercise differ from the whole by, and the interval that comes of it. */
const wholeExerciseSchema = z.object({
  logStandard: z.number(),
  degreesOfFreedom: z.number(),
  pairs: z.number().int(),
  from: z.enum(['dwells of one exercise', 'successive exercises']),
  dwells: z.number().int(),
  lowPercent: z.number(),
  highPercent: z.number(),
});

/**
 * A cell of an assessment with everything that a person needs to compute it again from the readings. Plain data.
 * A cell's value is Σ(weight · windowPercent) over its parts, its detection limit
 * limitFactor · √(Σ(weight · windowNoise)² + (Σ weight · sharedNoise)²), both noises in percent.
 */
export const explanationSchema = z.object({
  trial: identifierSchema,
  virtual: z.boolean(),
  exercise: slugSchema,
  exerciseName: z.string(),
  probe: slugSchema,
  probeLabel: z.string(),
  /** 0 when the exercise was never begun. */
  attempt: z.number().int().nonnegative(),
  readingUnit: z.enum(unitNames),
  method: methodSchema,
  /** In the order of the register; absent: the trial rests on none. */
  certificates: z.array(explainedCertificateSchema).optional(),
  /** What a reviewer left out of the trial; absent: nothing. */
  leftOut: z.array(leftOutOfTrialSchema).optional(),
  rig: z.object({
    name: z.string(),
    version: z.number().int(),
    timeConstantSeconds: statedSchema,
    commonDispersionSeconds: z.number(),
    resolution: z.number(),
  }),
  /** Scatter of filtered air over the zeros of the trial; null where no zero is long enough. */
  scatter: z
    .object({
      zeros: z.array(dwellNumberSchema),
      readings: z.number().int(),
      standardDeviation: z.number(),
      /** What counts for one reading: never below resolution/√12. */
      singleReading: z.number(),
      autocorrelationSum: z.number(),
      degreesOfFreedom: z.number(),
    })
    .nullable(),
  windowPercent: z.number().nullable(),
  /** Null where there is no value, or where the budget lacks something. */
  budget: budgetSchema.nullable(),
  budgetGaps: z.array(budgetGapSchema),
  /** Null where there is no interval, or where nobody asked for draws. */
  drawn: drawnSchema.nullable(),
  wholeExercise: wholeExerciseSchema.nullable(),
  detectionLimitPercent: z.number().nullable(),
  /** How many standard uncertainties of a value without leakage the limit is. */
  limitFactor: z.number(),
  belowDetectionLimit: z.boolean(),
  flagged: z.boolean(),
  flags: z.array(z.object({ flag: flagSchema, meaning: z.string(), doubtful: z.boolean() })),
  /** What raised the flags, in the order in which it was found. */
  doubts: z.array(doubtSchema),
  parts: z.array(partSchema),
  /** Every window that takes part, by number of its dwell: probe, zeros, references, background. */
  windows: z.array(explainedWindowSchema),
});
export type Explanation = z.infer<typeof explanationSchema>;

/** Moment that a window's mean is for, time of arrival, µs: of several pieces, each by its length. */
export function middleOfMean({ leftOut, meanFromMicroseconds, meanToMicroseconds }: ExplainedWindow): number {
  if (leftOut === undefined || leftOut.pieces.length === 1) return (meanFromMicroseconds + meanToMicroseconds) / 2;
  let length = 0;
  let moment = 0;
  for (const { fromMicroseconds, toMicroseconds, weightSeconds } of leftOut.pieces) {
    length += weightSeconds;
    moment += (weightSeconds * (fromMicroseconds + toMicroseconds)) / 2;
  }
  return moment / length;
}
