import { z } from 'zod';
import { ChambersideError } from '../model/error-code.ts';
import { slugSchema } from '../model/identity.ts';

/**
 * What a standard or a laboratory asks of the inward leakage of an ensemble, as data. Leakages in percent of the
 * challenge; one trial of one ensemble gives one value for each exercise and probe.
 */

/**
 * What happens to a value that is exactly the limit. `not-stated`: the source does not say, and such a value leaves the
 * rule without a verdict.
 */
const equalitySchema = z.enum(['passes', 'fails', 'not-stated']);
export type Equality = z.infer<typeof equalitySchema>;

const percent = z.number().positive().max(100);
const count = z.number().int().positive().max(10_000);

const rankRule = z
  .object({
    rule: z.literal('rank'),
    /** Single values of all ensembles together, or the mean of each ensemble's values. */
    of: z.enum(['single-values', 'ensemble-means']),
    /** At least this many … */
    atLeast: count,
    /** … of exactly this many. With another number there is no verdict: a share is never scaled. */
    among: count,
    limitPercent: percent,
    equality: equalitySchema,
  })
  .refine((rule) => rule.atLeast <= rule.among, 'atLeast must not exceed among');

const meanRule = z.object({
  rule: z.enum(['highest-exercise-mean', 'overall-mean']),
  limitPercent: percent,
  equality: equalitySchema,
});

const classRule = z
  .object({
    rule: z.literal('classes'),
    /** Best class first. Both limits must hold; the first class for which they do is the class. */
    classes: z
      .array(
        z.object({ class: z.string().min(1).max(20), highestExercisePercent: percent, overallPercent: percent }),
      )
      .min(1),
    equality: equalitySchema,
  })
  .refine(
    ({ classes }) =>
      classes.every((entry, index) => {
        const better = classes[index - 1];
        return (
          better === undefined ||
          (better.highestExercisePercent < entry.highestExercisePercent && better.overallPercent < entry.overallPercent)
        );
      }),
    'classes must be given from the best to the worst, with rising limits',
  );

const ruleSchema = z.union([rankRule, meanRule, classRule]);
export type Rule = z.infer<typeof ruleSchema>;

export const requirementSchema = z.strictObject({
  name: slugSchema,
  title: z.string().min(1).max(200),
  /** Edition of the text in which the rules stand. */
  edition: z.string().min(1).max(200),
  /** Where whoever wrote this down has it from. */
  source: z.string().min(1).max(500),
  /** `memory`: not checked against a text; every verdict then says so. */
  basis: z.enum(['text', 'secondary', 'memory']),
  /** How many ensembles are asked for. */
  ensembles: z.union([z.object({ exactly: count }), z.object({ atLeast: count })]),
  /** Values of one ensemble: exercises times probes. Null where the text leaves it open. */
  valuesPerEnsemble: count.nullable(),
  rules: z.array(ruleSchema).min(1),
});
export type Requirement = z.infer<typeof requirementSchema>;

/**
 * A requirement from data of unknown origin.
 * @param where the file that gave it, for the message.
 * @throws ChambersideError `configuration-invalid` that lists every field that is wrong.
 */
export function parseRequirement(data: unknown, where: string): Requirement {
  const result = requirementSchema.safeParse(data);
  if (result.success) return result.data;
  const lines = result.error.issues.map(
    (issue) => `${issue.path.map(String).join('.') || 'requirement'}: ${issue.message}`,
  );
  throw new ChambersideError(
    'configuration-invalid',
    `The requirement does not satisfy its schema: ${lines.join('; ')}`,
    where,
    'Correct the named fields; docs/guides/requirements.md shows a whole one.',
  );
}

/** What every verdict on this requirement must carry; null for a text that was read. */
export function sourceDoubt(requirement: Requirement): string | null {
  switch (requirement.basis) {
    case 'text':
      return null;
    case 'secondary':
      return 'from secondary texts: verify against the standard';
    case 'memory':
      return 'from memory: verify against the standard';
  }
}
