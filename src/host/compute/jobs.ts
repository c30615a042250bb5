import type { ScatterAnswer } from '../../bridge/scatter.ts';
import type { CheckChoice } from '../../bridge/checks.ts';
import type { RigDifferenceAsk, RigVersion } from '../../bridge/contract.ts';
import type { InstrumentHistory } from '../../bridge/register.ts';
import type { StudyRow } from '../../bridge/snapshot.ts';
import type { CellExplanation, TrialResult } from '../../bridge/result.ts';
import type { StudyView, WhatIfAsked } from '../../bridge/study.ts';
import type { ThinnedSamples } from '../samples/thin.ts';
import type { Assessment } from '../../leakage/assessment.ts';
import type { AssessmentDifference } from '../../leakage/difference.ts';
import type { Review } from '../../leakage/review.ts';
import type { CellPlace } from '../../leakage/explain.ts';
import type { ProvisionalState } from '../../leakage/provisional.ts';
import type { Identifier } from '../../model/identity.ts';
import type { Method } from '../../model/method.ts';
import type { RigChange } from '../../model/rig-difference.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent } from '../../model/trial-event.ts';
import type { Voiding } from '../../model/voiding.ts';
import type { TrialRecord } from '../../model/trial-record.ts';
import type { MadeReport, ReportRequest } from '../report/make-report.ts';
import type { MadeStudyReport, StudyReportRequest } from '../report/make-study-report.ts';
import type { ReportStep } from '../../bridge/report-part.ts';
import type { NewAssessment, NewSignature, NewVoiding, StoredSignature } from '../store/contract.ts';
import type { ReviewedAssessment, ReviewRequest } from './review-job.ts';
import type { SignerRequest } from './sign-job.ts';
import type { RepeatedPlan } from './repeat-job.ts';
import type { CheckGround, KnownCheck } from '../store/laboratory-checks.ts';
import type { SerialError } from '../worker/serial-error.ts';
import type { ChangedLaboratory, LaboratoryChange } from './laboratory-job.ts';
import type { RegisterContent } from './register-job.ts';

/** A recorded trial as a host needs it to go on with it. */
export interface RecalledTrial {
  readonly rig: Rig;
  readonly series: Series;
  readonly method: Method;
  readonly streams: readonly StreamDescriptor[];
  readonly segments: readonly TimeSegment[];
  readonly events: readonly TrialEvent[];
  /** How many readings it holds, all streams together. */
  readonly readings: number;
  /** What the lanes knew at the end of the record. */
  readonly provisional: ProvisionalState;
}

/** Work that is done away from the thread that reads the ports. Each is answered once. */
export interface Jobs {
  /** Every study file of a folder, without touching raw data. Nothing is `under-way` here. */
  studies: { ask: { folder: string }; answer: StudyRow[] };
  'create-study': { ask: { folder: string; name: string; now: string }; answer: { file: string } };
  /** Its trials together, from summary rows; `file` is how the window calls it. */
  'study-summary': { ask: { path: string; file: string }; answer: StudyView };
  /** The same as it would be with something otherwise; nothing is written. */
  'study-what-if': { ask: { path: string; asked: WhatIfAsked }; answer: StudyView };
  /** What the newest assessed trial on a rig has shown of scatter. */
  scatter: { ask: { folder: string; rig: Rig }; answer: ScatterAnswer };
  recall: { ask: { path: string; trial: Identifier }; answer: RecalledTrial };
  /** By the method that was frozen with the trial. */
  assess: { ask: { path: string; trial: Identifier }; answer: { method: Method; assessment: Assessment } };
  /** The same, kept in the study; refused while somebody records into it. */
  'store-assessment': {
    ask: { path: string; trial: Identifier; program: string; now: string };
    answer: { assessment: Identifier };
  };
  /**
   * As a reviewer wants it; refused for anybody else. Not stored: whoever holds the study does that.
   */
  review: {
    ask: Omit<ReviewRequest, 'review'> & { laboratory: string; review: Review; pin: string };
    answer: ReviewedAssessment;
  };
  /** Keeps an assessment in a study that nobody records into. */
  'keep-assessment': {
    ask: { path: string; entry: NewAssessment; now: string };
    answer: { assessment: Identifier };
  };
  /** What a void or stopped trial was planned to be. */
  'repeated-plan': { ask: { path: string; trial: Identifier; from: string | null }; answer: RepeatedPlan };
  /** A reviewer is who they say; refused for anybody else. */
  'ask-reviewer': { ask: { laboratory: string; person: string; pin: string }; answer: null };
  /** Keeps what a reviewer decided of a trial, in a study that nobody records into. */
  'keep-voiding': { ask: { path: string; entry: NewVoiding; now: string }; answer: Voiding };
  /** Somebody may sign, and the trial is what was recorded; refused for anybody else. */
  'ask-signer': { ask: SignerRequest; answer: null };
  /** Keeps a signature in a study that nobody records into. */
  'keep-signature': { ask: { path: string; entry: NewSignature; now: string }; answer: StoredSignature };
  difference: {
    ask: { path: string; trial: Identifier; from: string | null; to: string | null };
    answer: AssessmentDifference;
  };
  result: { ask: { path: string; file: string; trial: Identifier }; answer: TrialResult };
  /** Of the newest assessment. */
  explain: { ask: { path: string; trial: Identifier; place: CellPlace }; answer: CellExplanation };
  /** A report as a file. Tells its steps. */
  report: { ask: ReportRequest; answer: MadeReport };
  'study-report': { ask: StudyReportRequest; answer: MadeStudyReport };
  /** The whole of a trial, and the method that was frozen with it: for a replay. */
  record: { ask: { path: string; trial: Identifier }; answer: { record: TrialRecord; method: Method } };
  /** Committed samples of one stream in [from, to), trial time, µs. */
  history: {
    ask: {
      path: string;
      trial: Identifier;
      stream: number;
      fromMicroseconds: number;
      toMicroseconds: number;
      mostSamples: number;
    };
    answer: ThinnedSamples;
  };
  /** Makes a change in the laboratory file, then reads it. */
  laboratory: { ask: { path: string; change: LaboratoryChange | null; now: string }; answer: ChangedLaboratory };
  'check-history': { ask: { path: string; rig: string; choice: CheckChoice; now: string }; answer: KnownCheck[] };
  /** What the register holds, and records of it that are not what was stored. */
  register: { ask: { path: string; now: string }; answer: RegisterContent };
  'instrument-history': { ask: { path: string; instrument: string; now: string }; answer: InstrumentHistory };
  'rig-versions': { ask: { path: string; name: string; now: string }; answer: RigVersion[] };
  'rig-difference': { ask: RigDifferenceAsk & { path: string; now: string }; answer: RigChange[] };
  'check-ground': { ask: { path: string; number: number; now: string }; answer: CheckGround | null };
}
export type JobName = keyof Jobs;

export type ToComputer = {
  [Name in JobName]: { readonly job: Name; readonly number: number; readonly ask: Jobs[Name]['ask'] };
}[JobName];

export type FromComputer =
  /** On the way to the answer, for jobs that tell their steps. */
  | { readonly number: number; readonly step: ReportStep; readonly share?: number | undefined }
  | { readonly number: number; readonly answer: unknown }
  | { readonly number: number; readonly error: SerialError };
