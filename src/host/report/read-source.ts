import type { Assessment } from '../../leakage/assessment.ts';
import { ChambersideError } from '../../model/error-code.ts';
import type { ReportSource } from '../../report/source.ts';
import { fileDamaged } from '../file-error.ts';
import { listAssessments, readAssessment, releaseOf } from '../store/assessments.ts';
import { chooseAssessment } from '../store/chosen-assessment.ts';
import { listTrials, readTrial, readTrialSummary } from '../store/read.ts';
import { readSignatures } from '../store/signatures.ts';
import { verifyCommand, whatIsAltered } from '../store/soundness.ts';
import { readVoidings } from '../store/voidings.ts';
import { readTrialProof } from '../store/trial-proof.ts';

/**
 * Reads what a report is made from, out of the study file alone, and holds the chain of the trial against its seal.
 * @param assessment identifier, or its place among those of the trial from 1; null: the released one, else the
 *   newest.
 * @throws ChambersideError `trial-not-found`, `assessment-not-found`, `trial-not-finished` for a trial
 *   that is not sealed or not assessed, `file-damaged` for one that is not what was sealed, and those of opening.
 */
export function readReportSource(
  path: string,
  trial: string,
  assessment: string | null,
  program: string,
): ReportSource {
  const summary = readTrialSummary(path, trial);
  const { sealed } = summary;
  // First: one whose seal is gone is not merely unsealed.
  refuseAltered(path, trial);
  if (sealed === null) {
    const phase = summary.phase ?? 'prepared';
    throw new ChambersideError(
      'trial-not-finished',
      `Trial ${trial} is not sealed: it was ${phase} when its recording ended`,
      path,
      'Only a sealed trial can be reported. Take it up again and close it, or stop it.',
    );
  }
  const all = listAssessments(path, trial);
  const released = releaseOf(path, trial)?.assessment ?? null;
  if (released !== null && !all.some((one) => one.assessment === released)) {
    throw fileDamaged(`Assessment ${released} of ${trial} was released and is not there`, path);
  }
  const chosen = chooseAssessment(all, path, trial, assessment ?? released);
  const document = readAssessment(path, chosen.stored.assessment);
  const { study, frozen, instruments, sealDigest } = readTrialProof(path, trial);
  if (document === null || sealDigest === null) {
    throw new ChambersideError('file-damaged', 'The assessment or the seal cannot be read', path, 'Verify the file.');
  }
  const details = document.details as Assessment | null;
  if (details === null) {
    throw new ChambersideError(
      'record-insufficient',
      `Assessment ${document.assessment} holds its values only, and not what they come from`,
      path,
      `Make a new one: npx --no-install chamberside assess --study ${path} --trial ${trial}`,
    );
  }
  return {
    study,
    record: readTrial(path, trial),
    endMicroseconds: summary.throughMicroseconds,
    instruments,
    seal: { ...sealed, sealDigest },
    frozen,
    assessment: {
      assessment: document.assessment,
      position: chosen.position,
      digest: chosen.stored.digest,
      methodDigest: chosen.stored.methodDigest,
      trialHead: document.trialHead,
      program: document.program,
      createdAt: document.createdAt,
      method: document.method,
      details,
      review: document.review ?? null,
    },
    voidings: readVoidings(path, trial),
    signatures: readSignatures(path, trial).map(({ signature }) => signature),
    repeatedBy: listTrials(path).flatMap(({ header, trial: other }) =>
      header.repeats?.trial === trial ? [other] : [],
    ),
    program,
  };
}

/** A report of data that are not what was sealed would lend them its face. */
function refuseAltered(path: string, trial: string): void {
  const altered = whatIsAltered(path, trial);
  if (altered === null) return;
  throw new ChambersideError(
    'file-damaged',
    `This trial is not what was recorded, and cannot be reported. ${altered}`,
    path,
    verifyCommand(path),
  );
}
