import { assess } from '../../leakage/assess.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { storeAssessment } from '../store/assessments.ts';
import { listTrials, readPlannedMethod, readTrial } from '../store/read.ts';
import { programVersion } from '../version.ts';
import { formatAssessment } from './cell-table.ts';
import type { Command } from './command.ts';

export const assessCommand: Command = {
  name: 'assess',
  summary: 'turn a recorded trial into inward leakage',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one in the study' },
    { name: 'dry', value: null, help: 'compute and print, but store no new assessment in the study' },
  ],
  notes: [
    'Each run is stored as a new assessment beside the earlier ones; the same trial, method and program version give',
    'the same numbers to the last bit.',
    'Exit status 0: every cell has a value. 1: a cell has none, and its flags say why.',
  ],
  run(values, output) {
    const studyPath = values.text('study');
    const trial = values.optional('trial') ?? soleTrial(studyPath);
    const record = readTrial(studyPath, trial);
    // The method frozen with the trial: what a later version would choose must not change an old result.
    const method = readPlannedMethod(studyPath, trial);
    const assessment = assess(record, method);
    const stored = values.has('dry')
      ? null
      : storeAssessment(studyPath, {
          trial: record.header.trial,
          method,
          program: programVersion,
          cells: assessment.cells,
          details: assessment,
        });
    const complete = assessment.cells.every((cell) => cell.windowPercent !== null);
    if (values.json) {
      output.line(
        JSON.stringify({
          assessmentId: stored?.assessment ?? null,
          trialId: record.header.trial,
          virtual: record.header.virtual,
          program: programVersion,
          method,
          cells: assessment.cells,
          probes: assessment.probes,
          exercises: assessment.exercises,
          overall: assessment.overall,
          flags: assessment.flags,
        }),
      );
    } else {
      if (record.header.virtual) output.line('VIRTUAL RIG: no result of a real ensemble.');
      output.line(`trial ${record.header.trial}, method ${method.name} version ${method.version}`);
      output.line(formatAssessment(assessment));
      if (stored !== null) output.note(`Stored as assessment ${stored.assessment}.`);
    }
    return Promise.resolve(complete ? 0 : 1);
  },
};

function soleTrial(studyPath: string): string {
  const trials = listTrials(studyPath);
  const [only] = trials;
  if (only !== undefined && trials.length === 1) return only.trial;
  throw new ChambersideError(
    trials.length === 0 ? 'trial-not-found' : 'usage-unknown-option',
    trials.length === 0 ? 'the study holds no trial' : `the study holds ${trials.length} trials`,
    studyPath,
    trials.length === 0
      ? 'Record one first.'
      : `Name one with --trial: ${trials.map((entry) => entry.trial).join(', ')}.`,
  );
}
