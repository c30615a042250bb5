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

type Gathered = Map<string, { -readonly [Field in keyof Contribution]: Contribution[Field] }>;

/** The same input more than once counts once, with the sum of its sensitivities. Inputs without effect are left out. */
export function gatherContributions(all: Iterable<Contribution>): Contributions {
  const gathered: Gathered = new Map();
  for (const contribution of all) add(gathered, contribution, 1);
  return gathered;
}

/** Contributions of Σ weight · result. */
export function weightedContributions(
  results: readonly { readonly weight: number; readonly contributions: Contributions }[],
): Contributions {
  const gathered: Gathered = new Map();
  for (const { contributions, weight } of results) {
    for (const contribution of contributions.values()) add(gathered, contribution, weight);
  }
  return gathered;
}

/** A mean of a trial adds a thousand of these: nothing is made that is not kept. */
function add(gathered: Gathered, contribution: Contribution, weight: number): void {
  const { input, line, sensitivity, standardUncertainty } = contribution;
  if (standardUncertainty === 0 || sensitivity === 0) return;
  const known = gathered.get(input);
  if (known === undefined) {
    gathered.set(input, { input, line, standardUncertainty, sensitivity: weight * sensitivity });
  } else {
    known.sensitivity += weight * sensitivity;
  }
}
