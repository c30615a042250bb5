import type { ReportFormat, ReportStep } from '../../bridge/report-part.ts';
import { studyReport } from '../../report/study-report.ts';
import { rosterOf } from '../../study/study-trial.ts';
import type { Requirement } from '../../study/requirement.ts';
import { canonicalJson } from '../store/canonical-json.ts';
import { sha256, toHexadecimal } from '../store/digest.ts';
import { setDocument } from './make-report.ts';
import { readStudySource } from './read-study-source.ts';

export interface StudyReportRequest {
  /** Path of the study file. */
  readonly path: string;
  readonly format: ReportFormat;
  /** Version of this program. */
  readonly program: string;
  /** Beside the limits of the plans; null: none. */
  readonly requirement: Requirement | null;
}

export interface MadeStudyReport {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly title: string;
  readonly virtual: boolean;
  readonly trials: number;
  /** In the figures. */
  readonly counted: number;
  /** Of the document before it takes a form, hexadecimal: equal for the PDF and the page of one study. */
  readonly documentDigest: string;
}

/**
 * Makes the report of a study. The same study, requirement and program give the same bytes, whenever and wherever it is
 * made. Errors as `readStudySource`.
 * @param onStep what is being done; `share` from 0 to 1 where it is known how far.
 */
export async function makeStudyReport(
  request: StudyReportRequest,
  onStep: (step: ReportStep, share?: number) => void = () => undefined,
): Promise<MadeStudyReport> {
  const { path, format, program, requirement } = request;
  onStep('walking', 0);
  let told = 0;
  const source = readStudySource(path, requirement, program, (done, of) => {
    const percent = Math.floor((100 * done) / of);
    if (percent > told) onStep('walking', done / of);
    told = percent;
  });
  onStep('composing');
  const document = studyReport(source);
  const documentDigest = toHexadecimal(sha256(canonicalJson(document)));
  onStep('setting');
  return {
    bytes: await setDocument(document, documentDigest, format),
    title: document.title,
    virtual: document.virtual !== null,
    trials: source.trials.length,
    counted: rosterOf(source.trials).filter(({ leftOut }) => leftOut === null).length,
    documentDigest,
  };
}
