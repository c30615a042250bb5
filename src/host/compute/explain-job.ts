import type { CellExplanation } from '../../bridge/result.ts';
import { explainCell } from '../../leakage/explain.ts';
import type { CellPlace } from '../../leakage/explain.ts';
import type { Explanation } from '../../leakage/explanation.ts';
import { countingAssessment } from '../store/assessments.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import { readPlannedMethod, readTrial } from '../store/read.ts';

/** Draws of the budget's check: the interval's ends are known to 1 % of its width, in a tenth of a second. */
export const usualDraws = 50_000;

/**
 * Explains a cell by the method of the assessment that counts and without what it leaves out, or by the planned one
 * where there is none, and holds it against what is stored.
 * @param draws of the Monte Carlo check of the budget; 0: none.
 * @throws ChambersideError `trial-not-found`, `cell-not-found`, `record-insufficient`, and those of opening a file.
 */
export function explainStored(
  path: string,
  trial: string,
  place: CellPlace,
  draws = usualDraws,
): CellExplanation {
  const stored = countingAssessment(path, trial);
  const method = stored?.method ?? readPlannedMethod(path, trial);
  const explanation = explainCell(readTrial(path, trial), method, place, draws, stored?.review?.leftOut);
  if (stored === null) return { explanation, stored: null };
  const { assessment, program } = stored;
  return { explanation, stored: { assessment, program, agrees: agreesWith(stored, explanation) } };
}

/** Does a stored assessment hold the same value, to the last bit, and the same flags for the cell? */
function agreesWith({ cells }: AssessmentDocument, explanation: Explanation): boolean {
  const cell = cells.find(({ exercise, probe }) => exercise === explanation.exercise && probe === explanation.probe);
  return (
    cell?.windowPercent === explanation.windowPercent &&
    cell.flags.join() === explanation.flags.map(({ flag }) => flag).join()
  );
}
