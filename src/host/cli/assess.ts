import { dirname } from 'node:path';
import { assess } from '../../leakage/assess.ts';
import { certifiedRig } from '../../leakage/certified.ts';
import { stretchInWords, takenInWords } from '../../leakage/left-out-words.ts';
import { notApplied } from '../../leakage/not-applied.ts';
import type { UsedTimeConstant } from '../../leakage/time-constant.ts';
import { signatureWords } from '../../model/signature.ts';
import { significant } from '../../model/number-text.ts';
import { checkedReview, requireReviewer } from '../compute/review-job.ts';
import { releaseOf, storeAssessment } from '../store/assessments.ts';
import { readPlannedMethod, readTrial } from '../store/read.ts';
import type { TrialState } from '../store/trial-states.ts';
import { programVersion } from '../version.ts';
import { listOfAssessments } from './assessment-list.ts';
import { formatAssessment } from './cell-table.ts';
import { chosenMethod, methodOptions } from './chosen-method.ts';
import { chosenTrial } from './chosen-trial.ts';
import type { Command, ExitCode, OptionValues, Output } from './command.ts';
import { noteAltered } from './note-altered.ts';
import { noteVoid } from './note-void.ts';
import { missingCells, noteExit } from './note-doubt.ts';
import type { AskPin } from './people.ts';
import { reviewOf, reviewOptions } from './review-options.ts';

export function assessCommand(askPin: AskPin): Command {
  return { ...assessBase, run: (values, output) => run(values, output, askPin) };
}

const assessBase: Omit<Command, 'run'> = {
  name: 'assess',
  summary: 'turn a recorded trial into inward leakage',
  options: [
    { name: 'study', value: 'FILE', help: 'study file', required: true },
    { name: 'trial', value: 'ID', help: 'trial, default the only one; with several, they are listed' },
    ...methodOptions,
    ...reviewOptions,
    { name: 'list', value: null, help: 'print the assessments that the trial has, and make none' },
    { name: 'dry', value: null, help: 'compute and print, but store no new assessment in the study' },
  ],
  notes: [
    'Each run is stored as a new assessment beside the earlier ones; the same trial, method and program version give',
    'the same numbers to the last bit.',
    'A trial that is not sealed is computed and printed as far as it goes, and not stored: it is no result yet.',
    'The released one, else the newest, is what result, report, judge and export take; the method frozen with a trial',
    'stays as it is.',
    'Without a method the one frozen with the trial is taken. `methods` says what each does.',
    'Another method, or a stretch left out, is a reviewer’s decision: it takes --person, --laboratory, --reason and',
    'the PIN, which is asked for or is the first line of a pipe. With --person and neither, a choice is taken back.',
    'After a reviewer’s assessment one that nobody decided is refused.',
    'Of a trial that is not what was recorded nothing is stored either.',
    'Exit status 0: the trial is sealed and every cell has a value. 1: it is not sealed, not what was recorded, or a',
    'cell has none, and its flags say why.',
  ],
};

async function run(values: OptionValues, output: Output, askPin: AskPin): Promise<ExitCode> {
  const studyPath = values.text('study');
  const { trial, state: before } = chosenTrial(studyPath, values.optional('trial'));
  if (values.has('list')) {
    listOfAssessments(studyPath, trial, values.json, output);
    return 0;
  }
  noteVoid(before.summary, output);
  // Null: the one frozen with the trial. What a later version would choose must not change an old result unasked.
  const chosen = chosenMethod(values);
  const review = reviewOf(values);
  const dry = values.has('dry');
  if (review !== null && !dry) {
    // Asked before anything is computed: whoever may not, waits for nothing.
    const laboratory = values.text('laboratory');
    await requireReviewer(laboratory, review.person, await askPin(`PIN of ${review.person}`));
  }
  const record = readTrial(studyPath, trial);
  if (review !== null) checkedReview(review, record.rig, before.summary.throughMicroseconds);
  const method = chosen ?? readPlannedMethod(studyPath, trial);
  const assessment = assess(record, method, review?.leftOut ?? []);
  const sealed = before.state !== 'not-sealed';
  const intact = noteAltered(studyPath, trial, output);
  const stored =
    dry || !sealed || !intact
      ? null
      : storeAssessment(studyPath, {
          trial: record.header.trial,
          method,
          program: programVersion,
          cells: assessment.cells,
          details: assessment,
          ...(review === null ? {} : { review }),
        });
  for (const one of assessment.leftOut ?? []) {
    output.note(`Left out: ${stretchInWords(one)}: ${takenInWords(one)}.`);
  }
  if (before.state === 'sealed-not-assessed' && intact) {
    output.note('The trial was sealed and had not been assessed: this is its first assessment.');
  }
  const passedOver = notApplied(certifiedRig(record.rig, record.header.certificates).rig, method);
  if (passedOver.length > 0) output.note(`THE METHOD DOES NOT CORRECT FOR: ${passedOver.join('; ')}.`);
  const remedy = sealed || !intact ? null : wayOn(studyPath, before);
  if (remedy !== null) {
    output.note(
      `THE TRIAL IS NOT SEALED: it was ${before.summary.phase ?? 'prepared'} when the recording ended, and what is ` +
        `still to be recorded changes the result. Nothing was stored. ${remedy}`,
    );
  }
  const missing = missingCells(assessment.cells);
  if (values.json) {
    output.line(
      JSON.stringify({
        assessmentId: stored?.assessment ?? null,
        trialId: record.header.trial,
        stateBefore: before.state,
        sealed,
        intact,
        remedy,
        virtual: record.header.virtual,
        program: programVersion,
        method,
        timeConstant: assessment.timeConstant ?? null,
        review: stored === null ? null : review,
        leftOut: assessment.leftOut ?? [],
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
    if (assessment.timeConstant !== undefined) output.line(timeConstantText(assessment.timeConstant));
    output.line(formatAssessment(assessment));
    if (stored !== null) output.note(`Stored as assessment ${stored.assessment}.`);
  }
  const released = stored === null ? null : releaseOf(studyPath, trial);
  if (released !== null) {
    output.note(`The result of the trial stays assessment ${released.assessment}, ${signatureWords(released)}.`);
  }
  noteExit([missing], output);
  return missing === null && sealed && intact ? 0 : 1;
}

function timeConstantText({ falls, reason, seconds, source }: UsedTimeConstant): string {
  const { standardUncertainty, value } = seconds;
  const origin = source === 'falls' ? `from ${falls} falls into filtered air` : `as the rig states it: ${reason ?? ''}`;
  return `time constant ${significant(value, 4)} ± ${significant(standardUncertainty, 2)} s, ${origin}`;
}

/** How a trial that is not sealed comes to its end. */
function wayOn(studyPath: string, { summary }: TrialState): string {
  const command = (words: string): string => `npx --no-install chamberside ${words}`;
  const screen = `on screen: ${command('start')} --folder ${dirname(studyPath)}`;
  return summary.header.rehearsal === undefined
    ? `Unless it is recorded just now, go on with it or end it ${screen}`
    : `Unless it is recorded just now, go on with it: ${command('rehearse --resume --study')} ${studyPath}`;
}
