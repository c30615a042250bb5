import { explainCell } from '../../leakage/explain.ts';
import type { Explanation } from '../../leakage/explanation.ts';
import { newestAssessment } from '../store/assessments.ts';
import type { AssessmentDocument } from '../store/assessments.ts';
import { readPlannedMethod, readTrial } from '../store/read.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { formatExplanation } from './explain-text.ts';

export const explainCommand: Command = {
  name: 'explain',
  summary: 'show how one cell of a result was computed, step by step',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
    { name: 'exercise', value: 'SLUG', help: 'exercise of the cell, as `assess` names it', required: true },
    { name: 'probe', value: 'SLUG', help: 'probe of the cell', required: true },
    { name: 'readings', value: null, help: 'print the readings of every window too; --json always has them' },
  ],
  notes: [
    'By the method of the newest stored assessment, or the one planned with the trial where there is none.',
    'Exit status 0: the cell has a value, and the stored assessment has the same. 1: it has none, or another one.',
  ],
  run(values, output) {
    const study = values.text('study');
    const place = { exercise: values.text('exercise'), probe: values.text('probe') };
    const { trial } = chosenTrial(study, values.optional('trial'));
    const stored = newestAssessment(study, trial);
    const explanation = explainCell(readTrial(study, trial), stored?.method ?? readPlannedMethod(study, trial), place);
    const agrees = stored === null ? null : agreesWith(stored, explanation);
    if (values.json) {
      const assessment =
        stored === null ? null : { assessment: stored.assessment, program: stored.program, agrees: agrees === true };
      output.line(JSON.stringify({ program: programVersion, stored: assessment, explanation }));
    } else {
      if (explanation.virtual) output.line('VIRTUAL RIG: no result of a real ensemble.');
      output.line(formatExplanation(explanation, values.has('readings')));
      output.line('');
      output.line(verdict(stored, agrees));
    }
    return Promise.resolve(explanation.windowPercent !== null && agrees !== false ? 0 : 1);
  },
};

/** Does a stored assessment hold the same value and the same flags for the cell? */
function agreesWith({ cells }: AssessmentDocument, explanation: Explanation): boolean {
  const cell = cells.find(({ exercise, probe }) => exercise === explanation.exercise && probe === explanation.probe);
  return (
    cell?.windowPercent === explanation.windowPercent &&
    cell.flags.join() === explanation.flags.map(({ flag }) => flag).join()
  );
}

function verdict(stored: AssessmentDocument | null, agrees: boolean | null): string {
  if (stored === null) return 'The study holds no assessment of this trial.';
  const { assessment, program } = stored;
  return agrees === true
    ? `The stored assessment ${assessment} has the same value and flags.`
    : `DIFFERS from the stored assessment ${assessment}, made by Chamberside ${program}. Assess the trial again.`;
}
