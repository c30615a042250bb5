import type { Assessment } from '../leakage/assessment.ts';
import type { Review } from '../leakage/review.ts';
import type { Method } from '../model/method.ts';
import type { Signature } from '../model/signature.ts';
import type { Voiding } from '../model/voiding.ts';
import type { TrialRecord } from '../model/trial-record.ts';

/** Everything that a report of one trial is made from. All of it stands in the study file; digests are hexadecimal. */
export interface ReportSource {
  readonly study: { readonly study: string; readonly name: string; readonly createdAt: string };
  readonly record: TrialRecord;
  /** End of the record, trial time, µs. */
  readonly endMicroseconds: number;
  /** As connected when the trial began. */
  readonly instruments: readonly {
    readonly instrument: string;
    readonly kind: string;
    readonly dialect: string;
    readonly connection: string;
  }[];
  readonly seal: {
    readonly at: string;
    readonly head: string;
    /** Links of the chain. */
    readonly count: number;
    /** Position among the seals of the study, from 1, and the digest of that seal. */
    readonly seal: number;
    readonly sealDigest: string;
  };
  /** What the first link covers. */
  readonly frozen: readonly { readonly part: string; readonly digest: string }[];
  readonly assessment: {
    readonly assessment: string;
    /** Which of the trial's assessments this is, from 1, and how many there were before it was made. */
    readonly position: number;
    readonly digest: string;
    readonly methodDigest: string;
    /** Head of the trial's chain when it was made. */
    readonly trialHead: string;
    readonly program: string;
    readonly createdAt: string;
    readonly method: Method;
    readonly details: Assessment;
    /** By whom and why, where a reviewer had it made; null: nobody chose anything. */
    readonly review: Review | null;
  };
  /** Decisions that made the trial void, or took that back, in the order they were made; the last one counts. */
  readonly voidings: readonly Voiding[];
  /** What was signed of the trial's assessments, and taken back, oldest first. */
  readonly signatures: readonly Signature[];
  /** Trials of the study that do this one again. */
  readonly repeatedBy: readonly string[];
  /** Version of the program that makes the report. */
  readonly program: string;
}
