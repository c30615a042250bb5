import { z } from 'zod';
import { identifierSchema, slugSchema } from '../model/identity.ts';
import type { Identifier } from '../model/identity.ts';
import type { Method } from '../model/method.ts';
import type { Assessment, Cell, CellMean } from './assessment.ts';
import { orderFlags } from './flag.ts';
import { leftOutOfTrialSchema } from './left-out.ts';
import type { LeftOut } from './left-out.ts';
import { reviewSchema } from './review.ts';
import type { Review } from './review.ts';

/** One of two assessments of a trial that are held against each other. */
export interface ComparedAssessment {
  readonly assessment: Identifier;
  /** Its place among those of the trial, from 1. */
  readonly position: number;
  readonly createdAt: string;
  readonly program: string;
  readonly method: Method;
  readonly review: Review | null;
  readonly details: Assessment;
}

/** A value before and after. Percent of the challenge unless it says otherwise. */
const valueDifferenceSchema = z.object({
  beforePercent: z.number().nullable(),
  afterPercent: z.number().nullable(),
  /** Of the value before, signed, percent; null where one is missing or the first is 0. */
  changePercent: z.number().nullable(),
  /**
   * |after − before| in units of the half width of the interval of the air seen, the wider of both; above 1 the change
   * is larger than the doubt that was stated. Null where no interval is known.
   */
  ofStatedUncertainty: z.number().nullable(),
  beforeLowPercent: z.number().nullable(),
  beforeHighPercent: z.number().nullable(),
  afterLowPercent: z.number().nullable(),
  afterHighPercent: z.number().nullable(),
  /** Of the whole exercise, of which only slices were seen. */
  beforeExerciseLowPercent: z.number().nullable(),
  beforeExerciseHighPercent: z.number().nullable(),
  afterExerciseLowPercent: z.number().nullable(),
  afterExerciseHighPercent: z.number().nullable(),
  flagsGained: z.array(z.string()),
  flagsLost: z.array(z.string()),
  /** The same value, interval of the air seen, and flags, to the last bit. */
  same: z.boolean(),
  /** The interval of the whole exercise is the same, which every other value of a trial has a part in. */
  sameExercise: z.boolean(),
});
export type ValueDifference = z.infer<typeof valueDifferenceSchema>;

const cellDifferenceSchema = valueDifferenceSchema.extend({
  exercise: slugSchema,
  probe: slugSchema,
  beforeReadings: z.number().int().nullable(),
  afterReadings: z.number().int().nullable(),
});
export type CellDifference = z.infer<typeof cellDifferenceSchema>;

const choiceSchema = z.union([z.string(), z.number(), z.boolean()]).nullable();

/** An assessment without its numbers: who had it made, by what, and why. */
const sideSchema = z.object({
  assessment: identifierSchema,
  position: z.number().int().positive(),
  createdAt: z.string(),
  program: z.string(),
  review: reviewSchema.nullable(),
});

type Side = z.infer<typeof sideSchema>;

/** How two assessments of one trial differ. Plain data. */
export const differenceSchema = z.object({
  trial: identifierSchema,
  before: sideSchema,
  after: sideSchema,
  /** Fields that differ; of a field inside a field with a point: `settling.seconds`. Null: there is no such field. */
  method: z.array(z.object({ field: z.string(), before: choiceSchema, after: choiceSchema })),
  /** Time constant by which either was made, s, where one of them adapts settling. */
  timeConstantSeconds: z.object({ before: z.number().nullable(), after: z.number().nullable() }).nullable(),
  leftOut: z.object({
    before: z.array(leftOutOfTrialSchema),
    after: z.array(leftOutOfTrialSchema),
    /** What only the second, or only the first, leaves out. */
    gained: z.array(leftOutOfTrialSchema),
    lost: z.array(leftOutOfTrialSchema),
  }),
  /** Every cell of either, in the order of the first; those of the second alone at the end. */
  cells: z.array(cellDifferenceSchema),
  probes: z.array(valueDifferenceSchema.extend({ probe: slugSchema })),
  exercises: z.array(valueDifferenceSchema.extend({ exercise: slugSchema })),
  overall: valueDifferenceSchema,
  /** How many cells are not the same. */
  cellsChanged: z.number().int(),
  /** Of how many cells the interval of the whole exercise is not the same. */
  exerciseIntervalsChanged: z.number().int(),
});
export type AssessmentDifference = z.infer<typeof differenceSchema>;

/** Holds two assessments of one trial against each other. @throws RangeError for those of two trials. */
export function differenceOf(before: ComparedAssessment, after: ComparedAssessment): AssessmentDifference {
  if (before.details.trial !== after.details.trial) {
    throw new RangeError('only assessments of one trial can be held against each other');
  }
  const [one, other] = [before.details, after.details];
  const cells = joined(one.cells, other.cells, cellKey).map(([was, is]): CellDifference => {
    const { exercise, probe } = (was ?? is) as Cell;
    return {
      exercise,
      probe,
      beforeReadings: was?.readings ?? null,
      afterReadings: is?.readings ?? null,
      ...valueDifference(was, is),
    };
  });
  const taus = [one.timeConstant?.seconds.value ?? null, other.timeConstant?.seconds.value ?? null] as const;
  const left = [one.leftOut ?? [], other.leftOut ?? []] as const;
  return {
    trial: one.trial,
    before: sideOf(before),
    after: sideOf(after),
    method: methodDifference(before.method, after.method),
    timeConstantSeconds: taus[0] === null && taus[1] === null ? null : { before: taus[0], after: taus[1] },
    leftOut: {
      before: [...left[0]],
      after: [...left[1]],
      gained: left[1].filter((stretch) => !left[0].some((had) => isSame(had, stretch))),
      lost: left[0].filter((stretch) => !left[1].some((has) => isSame(has, stretch))),
    },
    cells,
    probes: joined(one.probes, other.probes, ({ probe }) => probe).map(([was, is]) => ({
      probe: (was ?? is)?.probe ?? '',
      ...valueDifference(was, is),
    })),
    exercises: joined(one.exercises, other.exercises, ({ exercise }) => exercise).map(([was, is]) => ({
      exercise: (was ?? is)?.exercise ?? '',
      ...valueDifference(was, is),
    })),
    overall: valueDifference(one.overall, other.overall),
    cellsChanged: cells.filter(({ same }) => !same).length,
    exerciseIntervalsChanged: cells.filter(({ sameExercise }) => !sameExercise).length,
  };
}

type Valued = Pick<Cell | CellMean, 'windowPercent' | 'flags'> & Partial<Pick<Cell, IntervalField>>;
type IntervalField =
  | 'windowLowPercent'
  | 'windowHighPercent'
  | 'windowExpandedPercent'
  | 'exerciseLowPercent'
  | 'exerciseHighPercent';

function valueDifference(was: Valued | null, is: Valued | null): ValueDifference {
  // Assessments from before the budget have no intervals.
  const { windowExpandedPercent: doubtBefore = null, windowHighPercent: highBefore = null } = was ?? {};
  const { windowExpandedPercent: doubtAfter = null, windowHighPercent: highAfter = null } = is ?? {};
  const { windowLowPercent: lowBefore = null } = was ?? {};
  const { windowLowPercent: lowAfter = null } = is ?? {};
  const { exerciseHighPercent: wholeHighBefore = null, exerciseLowPercent: wholeLowBefore = null } = was ?? {};
  const { exerciseHighPercent: wholeHighAfter = null, exerciseLowPercent: wholeLowAfter = null } = is ?? {};
  const [before, after] = [was?.windowPercent ?? null, is?.windowPercent ?? null];
  const change = before === null || after === null ? null : after - before;
  const doubts = [doubtBefore, doubtAfter].filter((doubt) => doubt !== null && doubt > 0) as number[];
  const flagsGained = orderFlags((is?.flags ?? []).filter((flag) => !(was?.flags ?? []).includes(flag)));
  const flagsLost = orderFlags((was?.flags ?? []).filter((flag) => !(is?.flags ?? []).includes(flag)));
  return {
    beforePercent: before,
    afterPercent: after,
    changePercent: change === null || before === null || before === 0 ? null : (100 * change) / Math.abs(before),
    ofStatedUncertainty: change === null || doubts.length === 0 ? null : Math.abs(change) / Math.max(...doubts),
    beforeLowPercent: lowBefore,
    beforeHighPercent: highBefore,
    afterLowPercent: lowAfter,
    afterHighPercent: highAfter,
    beforeExerciseLowPercent: wholeLowBefore,
    beforeExerciseHighPercent: wholeHighBefore,
    afterExerciseLowPercent: wholeLowAfter,
    afterExerciseHighPercent: wholeHighAfter,
    flagsGained,
    flagsLost,
    same:
      before === after &&
      lowBefore === lowAfter &&
      highBefore === highAfter &&
      flagsGained.length + flagsLost.length === 0,
    sameExercise: wholeLowBefore === wholeLowAfter && wholeHighBefore === wholeHighAfter,
  };
}

/** Pairs by key, in the order of the first list; what only the second has comes last. */
function joined<One>(
  before: readonly One[],
  after: readonly One[],
  key: (one: One) => string,
): [One | null, One | null][] {
  const later = new Map(after.map((one) => [key(one), one]));
  const pairs = before.map((one): [One | null, One | null] => [one, later.get(key(one)) ?? null]);
  const known = new Set(before.map(key));
  return [...pairs, ...after.filter((one) => !known.has(key(one))).map((one): [One | null, One | null] => [null, one])];
}

function cellKey({ exercise, probe }: Cell): string {
  return `${exercise}/${probe}`;
}

function sideOf({ assessment, createdAt, position, program, review }: ComparedAssessment): Side {
  return { assessment, position, createdAt, program, review };
}

function methodDifference(before: Method, after: Method): AssessmentDifference['method'] {
  const [one, other] = [fieldsOf(before), fieldsOf(after)];
  const names = [...new Set([...one.keys(), ...other.keys()])];
  return names.flatMap((field) => {
    const [was, is] = [one.get(field) ?? null, other.get(field) ?? null];
    return was === is ? [] : [{ field, before: was, after: is }];
  });
}

function fieldsOf(method: Method): Map<string, string | number | boolean> {
  const { settling, ...plain } = method;
  const fields = new Map<string, string | number | boolean>();
  for (const [name, value] of Object.entries(plain)) if (value !== undefined) fields.set(name, value);
  for (const [name, value] of Object.entries(settling)) fields.set(`settling.${name}`, value);
  return fields;
}

/** The same stretch, whatever it was left out for. */
function isSame(one: LeftOut, other: LeftOut): boolean {
  return (
    one.fromMicroseconds === other.fromMicroseconds &&
    one.toMicroseconds === other.toMicroseconds &&
    one.time === other.time &&
    one.probe === other.probe
  );
}
