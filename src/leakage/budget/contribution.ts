import type { BudgetLineName } from './line.ts';

/**
 * How one input of a trial makes a result doubtful. Inputs are independent of each other; results that share an input
 * share its error, so results are combined by input and never by their own uncertainties.
 */
export interface Contribution {
  /** What it is, the same in every result that rests on it: `zero 12`, `dilution 5`, `spatial-factor`. */
  readonly input: string;
  readonly line: BudgetLineName;
  /** Of the input, in its own unit. */
  readonly standardUncertainty: number;
  /** Change of the result for one unit of the input, percent; signed. */
  readonly sensitivity: number;
}

/** Contributions of one result by input. */
export type Contributions = ReadonlyMap<string, Contribution>;

/** The same input more than once counts once, with the sum of its sensitivities. Inputs without effect are left out. */
export function gatherContributions(all: Iterable<Contribution>): Contributions {
  const gathered = new Map<string, Contribution>();
  for (const contribution of all) {
    if (contribution.standardUncertainty === 0 || contribution.sensitivity === 0) continue;
    const before = gathered.get(contribution.input);
    const sensitivity = contribution.sensitivity + (before?.sensitivity ?? 0);
    gathered.set(contribution.input, { ...contribution, sensitivity });
  }
  return gathered;
}

/** Contributions of Σ weight · result. */
export function weightedContributions(
  results: readonly { readonly weight: number; readonly contributions: Contributions }[],
): Contributions {
  return gatherContributions(
    results.flatMap(({ weight, contributions }) =>
      [...contributions.values()].map((one) => ({ ...one, sensitivity: weight * one.sensitivity })),
    ),
  );
}
