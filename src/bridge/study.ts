import { z } from 'zod';

/** A study over its trials, as `summariseStudy` gives it; leakages in percent of the challenge. */

const list = <Item extends z.ZodType>(item: Item) => z.array(item).readonly();
const known = <Figure extends z.ZodType>(figure: Figure) =>
  z.discriminatedUnion('known', [
    z.object({ known: z.literal(true), figure }),
    z.object({ known: z.literal(false), because: z.string() }),
  ]);

const count = z.number().int().nonnegative();
const leakage = z.object({ percent: z.number(), below: z.boolean() });

const lognormal = z.object({
  count,
  below: count,
  geometricMean: z.number(),
  geometricMeanLow: z.number(),
  geometricMeanHigh: z.number(),
  geometricDeviation: z.number(),
  geometricDeviationLow: z.number().nullable(),
  geometricDeviationHigh: z.number().nullable(),
  arithmeticMean: z.number(),
  median: z.number(),
  percentile95: z.number(),
  method: z.enum(['moments', 'maximum-likelihood']),
});

const ratio = z.object({
  lower: z.string(),
  upper: z.string(),
  ratio: z.number(),
  low: z.number(),
  high: z.number(),
  probability: z.number(),
  method: z.enum(['paired', 'paired-censored', 'unpaired']),
  subjects: count,
  below: count,
});

const components = z.object({
  ensembles: count,
  subjects: count,
  subjectsLeftOut: count,
  trialsPerCell: count,
  averaged: z.boolean(),
  trialsAveraged: z.number(),
  ensemble: z.number(),
  subject: z.number(),
  interaction: z.number().nullable(),
  trial: z.number(),
  fEnsemble: z.number(),
  fSubject: z.number(),
  probabilityEnsemble: z.number(),
  probabilitySubject: z.number(),
});

const scope = z.object({
  probe: z.string().nullable(),
  detectionLimitPercent: z.number().nullable(),
  ensembles: list(
    z.object({
      ensemble: z.string(),
      trials: count,
      subjects: count,
      summary: known(lognormal),
      tolerance: known(z.number()),
    }),
  ),
  ratios: list(z.object({ lower: z.string(), upper: z.string(), ratio: known(ratio) })),
  components: known(components),
});

const rosterRow = z.object({
  trial: z.string(),
  subject: z.string(),
  ensemble: z.string(),
  createdAt: z.string(),
  virtual: z.boolean(),
  sealed: z.boolean(),
  voided: z.object({ person: z.string(), reason: z.string() }).nullable(),
  continues: z.boolean(),
  assessed: z.boolean(),
  method: z.string().nullable(),
  review: z.object({ person: z.string(), leftOut: count }).nullable(),
  releasedBy: z.string().nullable(),
  doubtfulChecks: list(z.string()),
  leftOut: z.enum(['void', 'no-result', 'not-assessed', 'virtual', 'not-above-zero', 'what-if']).nullable(),
  cells: count,
  cellsFlagged: count,
  cellsMissing: count,
  whole: leakage.nullable(),
  probes: z.record(z.string(), leakage.nullable()).readonly(),
});

const share = z.object({
  passed: count,
  count,
  share: z.number(),
  low: z.number(),
  high: z.number(),
  atLeast: z.number(),
});

const agreement = z.object({
  pairs: count,
  bias: z.number(),
  standardDeviation: z.number(),
  lowerLimit: z.number(),
  upperLimit: z.number(),
  biasLow: z.number(),
  biasHigh: z.number(),
  nextLow: z.number(),
  nextHigh: z.number(),
  limitReach: z.number(),
});

/** A study with its figures, from summary rows. */
export const studyViewSchema = z.object({
  file: z.string(),
  name: z.string(),
  /** Names of the probes, in the order of the rig of the newest trial. */
  probes: list(z.object({ probe: z.string(), label: z.string() })),
  /** Methods by which trials hold an assessment, as `method` of a trial has them; how many trials do. */
  methods: list(z.object({ method: z.string(), trials: count })),
  summary: z.object({
    questions: z.object({
      confidence: z.number(),
      coverage: z.number(),
      toleranceConfidence: z.number(),
      limitsPercent: list(z.number()),
    }),
    counts: z.object({
      ...{ trials: count, sealed: count, assessed: count, flagged: count },
      ...{ void: count, noResult: count, virtual: count, counted: count, subjects: count },
    }),
    roster: list(rosterRow),
    ensembles: list(z.string()),
    scopes: list(scope),
    shares: list(
      z.object({
        ensemble: z.string(),
        limitPercent: z.number(),
        share: share.nullable(),
        open: count,
        exceeding: list(z.string()),
      }),
    ),
    repeats: known(agreement),
    marks: list(
      z.object({
        mark: z.enum([
          ...(['virtual', 'virtual-left-out', 'flagged', 'missing', 'void', 'no-result', 'continued'] as const),
          ...(['check-not-valid', 'reviewed', 'not-released', 'not-assessed', 'not-above-zero'] as const),
          ...(['methods-differ', 'few-subjects', 'below-limit', 'what-if'] as const),
        ]),
        text: z.string(),
      }),
    ),
  }),
});
export type StudyView = z.infer<typeof studyViewSchema>;

/** What is asked of a study to see what hangs on it; nothing is written. */
export const whatIfSchema = z.object({
  file: z.string(),
  /** Trials in no figure. */
  without: z.array(z.string()).max(10_000).readonly(),
  /** Of `methods`; null: each trial by the assessment that counts. */
  method: z.string().nullable(),
});
export type WhatIfAsked = z.infer<typeof whatIfSchema>;
