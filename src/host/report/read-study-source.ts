import { ChambersideError } from '../../model/error-code.ts';
import type { StudyReportSource, StudyReportTrial } from '../../report/study-source.ts';
import type { Requirement } from '../../study/requirement.ts';
import { fileDamaged } from '../file-error.ts';
import { readAssessment } from '../store/assessments.ts';
import { readStudyOverview } from '../store/read.ts';
import { readSignatures } from '../store/signatures.ts';
import { verifyCommand } from '../store/soundness.ts';
import { readStudyRows } from '../store/study-rows.ts';
import { verify } from '../store/verify.ts';
import { readVoidings } from '../store/voidings.ts';

/**
 * Reads what a report of a study is made from, out of the study file, and walks all of the file first: a report of data
 * that are not what was sealed would lend them its face.
 * @param onTrial how many trials have been walked, and of how many.
 * @throws ChambersideError `file-damaged` for a file that is not what was recorded; `trial-not-found` for one without
 *   a trial; and those of opening.
 */
export function readStudySource(
  path: string,
  requirement: Requirement | null,
  program: string,
  onTrial: (done: number, of: number) => void = () => undefined,
): StudyReportSource {
  const { findings, sealHead } = verify(path, undefined, onTrial);
  const bad = findings.filter(({ severity }) => severity === 'bad');
  const [first] = bad;
  if (first !== undefined || sealHead === null) {
    const trial = first?.trial == null ? '' : `Trial ${first.trial}: `;
    const more = bad.length > 1 ? ` And ${bad.length - 1} more findings.` : '';
    const what = `This study is not what was recorded, and cannot be reported. ${trial}${first?.text ?? ''}${more}`;
    throw new ChambersideError('file-damaged', what, path, verifyCommand(path));
  }
  const { study, trials: rows, probes } = readStudyRows(path);
  if (rows.length === 0) {
    throw new ChambersideError('trial-not-found', 'The study holds no trial', path, 'Record one first.');
  }
  const { trials: summaries, assessments, releases } = readStudyOverview(path);
  const sealOf = new Map(summaries.map(({ trial, sealed }) => [trial, sealed]));
  const counting = new Map(assessments.map((one) => [one.trial, one]));
  for (const [trial, { assessment }] of releases) {
    const found = assessments.find((one) => one.assessment === assessment);
    if (found === undefined) throw fileDamaged(`The released assessment ${assessment} of ${trial} is not there`, path);
    counting.set(trial, found);
  }
  const trials = rows.map((row): StudyReportTrial => {
    const [sealed, own] = [sealOf.get(row.trial) ?? null, counting.get(row.trial)];
    return {
      ...row,
      seal: sealed === null ? null : { seal: sealed.seal, at: sealed.at, head: sealed.head },
      assessment:
        own === undefined
          ? null
          : {
              ...{ assessment: own.assessment, digest: own.digest, methodDigest: own.methodDigest },
              ...{ createdAt: own.createdAt, program: own.program },
            },
    };
  });
  const byDigest = new Map<string, string>();
  for (const { assessment } of trials) {
    if (assessment !== null) byDigest.set(assessment.methodDigest, assessment.assessment);
  }
  return {
    ...{ study, trials, probes, requirement, sealHead, program },
    methods: [...byDigest].map(([digest, assessment]) => {
      const document = readAssessment(path, assessment);
      if (document === null) throw fileDamaged(`Assessment ${assessment} is not there`, path);
      return { digest, method: document.method };
    }),
    signatures: readSignatures(path).map(({ signature }) => signature),
    voidings: rows
      .flatMap(({ trial }) => readVoidings(path, trial))
      .sort((one, other) => (one.createdAt < other.createdAt ? -1 : one.createdAt > other.createdAt ? 1 : 0)),
  };
}
