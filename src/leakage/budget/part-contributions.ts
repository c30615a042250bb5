import type { BlankScatter } from '../../calibration/blank-scatter.ts';
import type { ReadingContext } from '../dwell-reading.ts';
import type { HeldWindow } from '../part-doubts.ts';
import { gatherContributions } from './contribution.ts';
import type { Contribution, Contributions } from './contribution.ts';
import type { BudgetGap } from './line.ts';
import { partModel } from './part-model.ts';
import type { PartModel } from './part-model.ts';
import type { TrialScatter } from './scatter.ts';

/** The doubt of one window, by input, what it comes from, and what it lacks. */
export interface PartBudget {
  readonly model: PartModel;
  readonly contributions: Contributions;
  readonly gaps: readonly BudgetGap[];
}

/**
 * First-order propagation of a window's leakage (JCGM 100:2008, 5.1.2), written by input so that windows which share an
 * input share its error.
 * @returns null where the window has no leakage, and so no doubt about one.
 */
export function partBudget(
  context: ReadingContext,
  blank: BlankScatter | null,
  scatter: TrialScatter,
  held: HeldWindow,
): PartBudget | null {
  const model = partModel(context, blank, scatter, held);
  if (model === null) return null;
  const gaps: BudgetGap[] = [];
  if (blank === null) gaps.push('noise');
  if (scatter.challenge === null) gaps.push('challenge');
  if (scatter.zeroDrift === null) gaps.push('zero-drift');
  return { model, contributions: gatherContributions(derivatives(model)), gaps };
}

/** Derivatives of the model at its centre. */
function* derivatives({ above, below, factors, net, scale, spanNet }: PartModel): Generator<Contribution> {
  const leakage = net * scale;
  for (const { coefficient, input, line, standardUncertainty } of above) {
    yield { input, line, standardUncertainty, sensitivity: scale * coefficient };
  }
  for (const { coefficient, input, line, standardUncertainty } of below) {
    yield { input, line, standardUncertainty, sensitivity: (-leakage / spanNet) * coefficient };
  }
  for (const { input, line, power, standardUncertainty, value } of factors) {
    yield { input, line, standardUncertainty, sensitivity: (power * leakage) / value };
  }
}
