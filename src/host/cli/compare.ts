import { ChambersideError } from '../../model/error-code.ts';
import { requirementStandings } from '../../study/requirement-standing.ts';
import { summariseStudy, usualQuestions } from '../../study/study-summary.ts';
import { isHeldAgainstLimits } from '../../study/study-trial.ts';
import { readStudyRows } from '../store/study-rows.ts';
import { programVersion } from '../version.ts';
import { requirementFile, requirementNamed } from './chosen-requirement.ts';
import type { Command } from './command.ts';
import { formatStudy } from './compare-text.ts';
import { noteAltered } from './note-altered.ts';
import { noteExit } from './note-doubt.ts';

const shareRange = { least: 0.501, most: 0.9999 };

export const compareCommand: Command = {
  name: 'compare',
  summary: 'compare the ensembles of a study over its trials, with intervals',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'requirement', value: 'NAME', help: 'one of those that ship (see `judge`): verdict and share that passes' },
    { name: 'file', value: 'FILE', help: 'a requirement of your own instead, as JSON' },
    {
      name: 'limit',
      value: 'PERCENT',
      help: 'leakage of a whole trial whose passing share is asked, 0.0001 to 100; beside those of the plans',
    },
    { name: 'confidence', value: 'X', help: 'of every interval, 0.501 to 0.9999, default 0.95' },
    { name: 'coverage', value: 'X', help: 'of the tolerance limit: share of wearers, 0.501 to 0.9999, default 0.8' },
    { name: 'tolerance-confidence', value: 'X', help: 'of the tolerance limit, 0.501 to 0.9999, default 0.9' },
  ],
  notes: [
    'Every sealed trial counts by its released assessment, else its newest; subjects are the unit of every interval.',
    'Trials of the virtual rig are left out where there are real ones. docs/guides/study.md says what each figure is.',
    'Exit status 0: at least one trial is in the figures. 1: none is, or a trial is not what was recorded.',
  ],
  run(values, output) {
    const study = values.text('study');
    const [name, file] = [values.optional('requirement'), values.optional('file')];
    if (name !== undefined && file !== undefined) {
      const todo = 'See: npx --no-install chamberside compare --help';
      throw new ChambersideError('usage-unknown-option', '--requirement and --file exclude each other', '--file', todo);
    }
    const requirement = name !== undefined ? requirementNamed(name) : file !== undefined ? requirementFile(file) : null;
    const questions = {
      confidence: values.number('confidence', { ...shareRange, otherwise: usualQuestions.confidence }),
      coverage: values.number('coverage', { ...shareRange, otherwise: usualQuestions.coverage }),
      toleranceConfidence: values.number('tolerance-confidence', {
        ...shareRange,
        otherwise: usualQuestions.toleranceConfidence,
      }),
      limitsPercent: values.has('limit')
        ? [values.number('limit', { least: 0.0001, most: 100, otherwise: 1 })]
        : [],
    };
    const rows = readStudyRows(study);
    const summary = summariseStudy(rows.trials, questions);
    const standings =
      requirement === null ? [] : requirementStandings(requirement, rows.trials, summary.roster, questions.confidence);
    const altered = summary.roster
      .filter((row) => isHeldAgainstLimits(row) && !noteAltered(study, row.trial, output))
      .map(({ trial }) => trial);
    if (values.json) {
      const { study: identity, probes } = rows;
      const asked = requirement === null ? null : { requirement, standings };
      output.line(JSON.stringify({ program: programVersion, study: identity, probes, ...summary, asked, altered }));
    } else {
      output.line(formatStudy(rows, summary, requirement, standings));
    }
    const { counted } = summary.counts;
    noteExit(
      [
        counted === 0 ? 'no trial of the study has a value' : null,
        altered.length === 0 ? null : `not what was recorded: ${altered.join(', ')}`,
      ],
      output,
    );
    return Promise.resolve(counted > 0 && altered.length === 0 ? 0 : 1);
  },
};
