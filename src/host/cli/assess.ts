import { assess } from '../../leakage/assess.ts';
import { ChambersideError, isChambersideError } from '../../model/error-code.ts';
import { storeAssessment } from '../store/assessments.ts';
import { listTrials, readPlannedMethod, readTrial } from '../store/read.ts';
import { describeTrials, trialState, type TrialState } from '../store/trial-states.ts';
import { programVersion } from '../version.ts';
import { formatAssessment } from './cell-table.ts';
import type { Command } from './command.ts';

export const assessCommand: Command = {
  name: 'assess',
  summary: 'turn a recorded trial into inward leakage',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
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
    const before = stateBefore(studyPath, trial);
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
    if (before.state === 'sealed-not-assessed') {
      output.note('The trial was sealed and had not been assessed: this is its first assessment.');
    }
    if (before.state === 'not-sealed')
      output.note('The trial is not sealed: more may be recorded, and change the result.');
    const complete = assessment.cells.every((cell) => cell.windowPercent !== null);
    if (values.json) {
      output.line(
        JSON.stringify({
          assessmentId: stored?.assessment ?? null,
          trialId: record.header.trial,
          stateBefore: before.state,
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

function stateBefore(studyPath: string, trial: string): TrialState {
  try {
    return trialState(studyPath, trial);
  } catch (error) {
    if (!isChambersideError(error, 'trial-not-found')) throw error;
    throw new ChambersideError(error.code, error.what, studyPath, describeTrials(studyPath), error);
  }
}

function soleTrial(studyPath: string): string {
  const trials = listTrials(studyPath);
  const [only] = trials;
  if (only !== undefined && trials.length === 1) return only.trial;
  if (only === undefined) {
    throw new ChambersideError('trial-not-found', 'the study holds no trial', studyPath, 'Record one first.');
  }
  throw new ChambersideError(
    'usage-unknown-option',
    `the study holds ${trials.length} trials`,
    studyPath,
    `Name one with --trial. ${describeTrials(studyPath)}`,
  );
}
