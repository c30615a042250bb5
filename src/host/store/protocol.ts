import type { Identifier } from '../../model/identity.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { Voiding } from '../../model/voiding.ts';
import type { SerialError } from '../worker/serial-error.ts';
import type {
  NewAssessment,
  NewSignature,
  NewVoiding,
  SealResult,
  StoredAssessment,
  StoredSignature,
  StudyIdentity,
  TrialDefinition,
  UnfinishedTrial,
} from './contract.ts';
import type { ReadingBlock, WireBlock } from './encoding.ts';

/** Everything of one link as the recorder closed it; the writer encodes, digests and stores it. */
export interface LinkData {
  readonly link: number;
  readonly fromMicroseconds: number;
  readonly throughMicroseconds: number;
  readonly chunks: readonly ({ readonly stream: number } & ReadingBlock)[];
  /** `direction`: 0 in, 1 out. */
  readonly wires: readonly ({ readonly instrument: number; readonly direction: number } & WireBlock)[];
  /** Events in canonical JSON with the columns that the table repeats. */
  readonly events: readonly { readonly atMicroseconds: number; readonly kind: string; readonly json: string }[];
}

/** Where a trial's chain stands. */
export interface TrialPosition {
  readonly trial: Identifier;
  readonly lastLink: number;
  readonly throughMicroseconds: number;
  readonly streams: number;
  readonly instruments: number;
}

/** What the main thread asks of the writer; each is answered once. */
export interface WriterRequests {
  open: {
    ask: { path: string; studyName: string | null; hostId: Identifier };
    answer: { identity: StudyIdentity; created: boolean };
  };
  create: { ask: { definition: TrialDefinition }; answer: TrialPosition };
  resume: { ask: { trial: Identifier; segment: TimeSegment }; answer: TrialPosition };
  seal: { ask: { trial: Identifier }; answer: SealResult };
  unfinished: { ask: Record<string, never>; answer: UnfinishedTrial[] };
  assess: { ask: { assessment: NewAssessment }; answer: StoredAssessment };
  sign: { ask: { signature: NewSignature }; answer: StoredSignature };
  void: { ask: { voiding: NewVoiding }; answer: Voiding };
  limit: { ask: { pages: number | null }; answer: null };
  close: { ask: Record<string, never>; answer: null };
}
export type RequestName = keyof WriterRequests;

/** The time of a request comes with it, so that the wall clock is injected in one place. */
export type ToWriter =
  | { readonly kind: 'links'; readonly trial: Identifier; readonly links: readonly LinkData[] }
  | {
      [Name in RequestName]: {
        readonly kind: 'request';
        readonly request: Name;
        readonly number: number;
        readonly now: string;
        readonly ask: WriterRequests[Name]['ask'];
      };
    }[RequestName];

export type FromWriter =
  | {
      readonly kind: 'committed';
      readonly trial: Identifier;
      readonly link: number;
      readonly throughMicroseconds: number;
    }
  | { readonly kind: 'failed'; readonly error: SerialError; readonly waitingLinks: number }
  /** The study is written in another file from now on. */
  | { readonly kind: 'moved'; readonly path: string }
  | { readonly kind: 'answer'; readonly number: number; readonly answer: unknown }
  | { readonly kind: 'refusal'; readonly number: number; readonly error: SerialError };
