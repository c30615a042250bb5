import type { Method } from '../model/method.ts';
import type { Signature } from '../model/signature.ts';
import type { Voiding } from '../model/voiding.ts';
import type { Requirement } from '../study/requirement.ts';
import type { StudyTrial } from '../study/study-trial.ts';

/** A trial of a study with what proves it; digests are hexadecimal. */
export interface StudyReportTrial extends StudyTrial {
  /** Null while it is not sealed. */
  readonly seal: { readonly seal: number; readonly at: string; readonly head: string } | null;
  /** The one that counts; null where there is none. */
  readonly assessment: {
    readonly assessment: string;
    readonly digest: string;
    readonly methodDigest: string;
    readonly createdAt: string;
    readonly program: string;
  } | null;
}

/** Everything that a report of a study is made from. All but the requirement stands in the study file. */
export interface StudyReportSource {
  readonly study: { readonly study: string; readonly name: string; readonly createdAt: string };
  /** In the order in which they were begun. */
  readonly trials: readonly StudyReportTrial[];
  /** In the order of the rig of the newest trial. */
  readonly probes: readonly { readonly probe: string; readonly label: string }[];
  /** Methods of the assessments that count, by their digests. */
  readonly methods: readonly { readonly digest: string; readonly method: Method }[];
  /** What the ensembles are held against, beside the limits of the plans; null: nothing. */
  readonly requirement: Requirement | null;
  /** Oldest first, of the whole study. */
  readonly signatures: readonly Signature[];
  readonly voidings: readonly Voiding[];
  /** Head of the chain of seals. */
  readonly sealHead: string;
  /** Version of the program that makes the report. */
  readonly program: string;
}
