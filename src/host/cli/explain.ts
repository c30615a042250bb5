import type { CellExplanation } from '../../bridge/result.ts';
import { explainStored } from '../compute/explain-job.ts';
import { programVersion } from '../version.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { noteVoid } from './note-void.ts';
import { cellsNamed, noteExit } from './note-doubt.ts';
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
    'By the method of the assessment that counts (released, else newest), or the one planned with the trial where',
    'there is none.',
    'Exit status 0: the cell has a value, and the stored assessment has the same. 1: it has none, or another one, or',
    'the trial is not sealed, or not what was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const place = { exercise: values.text('exercise'), probe: values.text('probe') };
    const { trial, state } = chosenTrial(study, values.optional('trial'));
    noteVoid(state.summary, output);
    const { explanation, stored } = explainStored(study, trial, place);
    const intact = noteAltered(study, trial, output);
    const sealed = state.state !== 'not-sealed';
    if (!sealed && intact)
      output.note('THE TRIAL IS NOT SEALED: what is still to be recorded changes the value. It is no result.');
    if (values.json) {
      output.line(JSON.stringify({ program: programVersion, sealed, intact, stored, explanation }));
    } else {
      if (explanation.virtual) output.line('VIRTUAL RIG: no result of a real ensemble.');
      output.line(formatExplanation(explanation, values.has('readings')));
      output.line('');
      output.line(verdict(stored));
    }
    const differs = stored?.agrees === false;
    const hasValue = explanation.windowPercent !== null;
    const cell = { ...place, flags: explanation.flags.map(({ flag }) => flag) };
    const reasons = [
      hasValue ? null : `${cellsNamed([cell])} has no value`,
      differs ? `the value differs from the stored assessment ${stored.assessment}` : null,
    ];
    noteExit(reasons, output);
    return Promise.resolve(hasValue && !differs && sealed && intact ? 0 : 1);
  },
};

function verdict(stored: CellExplanation['stored']): string {
  if (stored === null) return 'The study holds no assessment of this trial.';
  return stored.agrees
    ? `The stored assessment ${stored.assessment} has the same value and flags.`
    : `DIFFERS from the stored assessment ${stored.assessment}, made by Chamberside ${stored.program}. ` +
        'Assess the trial again.';
}
