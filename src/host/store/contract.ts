import type { Review } from '../../leakage/review.ts';
import type { Identifier } from '../../model/identity.ts';
import type { Method } from '../../model/method.ts';
import type { Rig } from '../../model/rig.ts';
import type { Series } from '../../model/series.ts';
import type { StreamDescriptor } from '../../model/stream.ts';
import type { TimeSegment } from '../../model/time.ts';
import type { TrialEvent, TrialHeader, TrialPhase } from '../../model/trial-event.ts';
import type { ErrorCode } from '../../model/error-code.ts';
import type { Signature, SignatureStep } from '../../model/signature.ts';
import type { Voiding } from '../../model/voiding.ts';

/** Direction on the wire, seen from the program. */
export type WireDirection = 'in' | 'out';

/** An instrument as it was connected when the trial began. Its index in the list is its index on the wire. */
export interface RecordedInstrument {
  readonly instrument: string;
  readonly kind: string;
  readonly dialect: string;
  /** The transport's label: `serial /dev/ttyUSB0 at 115200`, `in-process photometer`. */
  readonly connection: string;
}

/** Everything that is frozen, with its digest, when a trial begins. */
export interface TrialDefinition {
  /** `header.study` must be the identifier of the study that is open. */
  readonly header: TrialHeader;
  readonly rig: Rig;
  readonly series: Series;
  /** The method that the trial is planned to be assessed with. */
  readonly method: Method;
  /** Index in this list is `streamIndex` of `reading`. */
  readonly streams: readonly StreamDescriptor[];
  /** Index in this list is `instrumentIndex` of `wire`. */
  readonly instruments: readonly RecordedInstrument[];
  /** The first segment (number 0). The recorder writes its `segment-began` event itself. */
  readonly segment: TimeSegment;
}

/** The last link known to be on disk. Link 0 is the trial's beginning and covers no time. */
export interface Acknowledgement {
  readonly link: number;
  /** Everything stamped before this trial time, and handed over, is committed; µs. */
  readonly throughMicroseconds: number;
}

/** A commit that did not succeed. The data stay in memory and are tried again once a second. */
export interface CommitFailure {
  readonly code: Extract<ErrorCode, 'disk-full' | 'commit-failed'>;
  readonly what: string;
  /** What to do. */
  readonly remedy: string;
  /** Links that are waiting, over all trials. */
  readonly waitingLinks: number;
}

export interface SealResult {
  /** Digest of the last link, hexadecimal. Print it in the report: it is what proves the tail. */
  readonly head: string;
  /** Number of links, link 0 included. */
  readonly count: number;
  /** Position of the seal in the study, from 1, and its digest, hexadecimal. */
  readonly seal: number;
  readonly sealDigest: string;
}

/** Records one trial. The first four calls only append in memory and never touch the disk. */
export interface TrialRecorder {
  readonly trial: Identifier;
  reading(streamIndex: number, atMicroseconds: number, value: number): void;
  /** Bytes as they went over the wire in one read or write; they are copied. */
  wire(instrumentIndex: number, direction: WireDirection, atMicroseconds: number, bytes: Uint8Array): void;
  /**
   * `segment-began` of the current segment is ignored, because the recorder has written it already.
   * @throws ChambersideError `internal` when the event cannot be written as JSON (NaN, infinity, cycles).
   */
  event(event: TrialEvent): void;
  /**
   * Closes every whole second of trial time that ends at or before the boundary and posts one link for each,
   * empty seconds included. Call it once a second; a boundary in the past does nothing.
   */
  handOver(boundaryMicroseconds: number): void;
  /** A new segment inside this recording (wake): hands over all that is open and begins again at its time. */
  beginSegment(segment: TimeSegment): void;
  acknowledged(): Acknowledgement;
  /** @returns a function that ends the subscription. */
  onAcknowledged(callback: (acknowledgement: Acknowledgement) => void): () => void;
  /** Resolves when all that was handed over before the call is committed; waits as long as the disk refuses. */
  settled(): Promise<void>;
  /** Hands over the open rest, waits until it is committed, and seals the trial for good. */
  seal(): Promise<SealResult>;
  /** Hands over the open rest, waits until it is committed, and leaves the trial unfinished. */
  abandon(): Promise<void>;
}

export interface StudyIdentity {
  readonly study: Identifier;
  readonly name: string;
  /** ISO 8601 in UTC. */
  readonly createdAt: string;
}

export interface OpenStudyOptions {
  readonly path: string;
  /** Creates the study when the file does not exist; an existing file is opened as it is. */
  readonly create?: { readonly studyName: string };
  /** This host, `h-…`: shown to whoever finds the study in use. */
  readonly hostId: Identifier;
  readonly onFailure?: (failure: CommitFailure) => void;
  /** Wall clock, ISO 8601 in UTC; the machine's own when absent. */
  readonly wallClock?: () => string;
}

/** The one recording connection to a study. */
export interface StudyRecorder {
  /** Where the file is: as it was asked for, until another file takes its place (0137). */
  readonly path: string;
  readonly identity: StudyIdentity;
  /** Whether this call created the file. */
  readonly created: boolean;
  createTrial(definition: TrialDefinition): Promise<TrialRecorder>;
  /**
   * Continues a trial that was interrupted, after its last committed link.
   * @param segment number and time must follow the last ones.
   * @throws ChambersideError `trial-not-found`, `trial-sealed`.
   */
  resumeTrial(trial: Identifier, segment: TimeSegment): Promise<TrialRecorder>;
  unfinishedTrials(): Promise<UnfinishedTrial[]>;
  /** As `storeAssessment` of assessments.ts, through the one writing connection. */
  storeAssessment(assessment: NewAssessment): Promise<StoredAssessment>;
  /** As `storeSignature` of signatures.ts, through the one writing connection. */
  storeSignature(signature: NewSignature): Promise<StoredSignature>;
  /** As `storeVoiding` of voidings.ts, through the one writing connection. */
  storeVoiding(voiding: NewVoiding): Promise<Voiding>;
  /** Largest size the file may grow to, in pages of 4096 bytes; null lifts the limit (the disk decides). */
  limitFilePages(pages: number | null): Promise<void>;
  /**
   * Hands over what is open in every trial, commits, checkpoints, and leaves one plain file.
   * @throws ChambersideError `disk-full` or `commit-failed` when something could not be committed.
   */
  close(): Promise<void>;
}

/** A trial that is not sealed, with what a restart needs. */
export interface UnfinishedTrial {
  readonly trial: Identifier;
  readonly header: TrialHeader;
  readonly lastLink: number;
  /** End of the last committed link, µs. */
  readonly throughMicroseconds: number;
  readonly segments: readonly TimeSegment[];
  readonly phase: TrialPhase | null;
  /** The last `phase-changed` or `dwell-began` event: its `machine` is the trial machine's state. */
  readonly snapshot: Extract<TrialEvent, { kind: 'phase-changed' | 'dwell-began' }> | null;
}

/** One row of the list of trials; read without touching raw data. */
export interface TrialSummary {
  readonly trial: Identifier;
  readonly header: TrialHeader;
  readonly createdAt: string;
  readonly lastLink: number;
  readonly throughMicroseconds: number;
  readonly phase: TrialPhase | null;
  readonly sealed: { readonly at: string; readonly head: string; readonly count: number; readonly seal: number } | null;
  /** The decision by which it is void; null while it is not. */
  readonly voided: Voiding | null;
}

/** Bytes of one read or write, as stored. */
export interface WireRecord {
  readonly instrument: string;
  readonly direction: WireDirection;
  readonly atMicroseconds: number;
  readonly bytes: Uint8Array;
}

/** What a list of results shows of a cell; the whole cell is kept as JSON beside it. */
export interface AssessmentCell {
  readonly exercise: string;
  readonly probe: string;
  readonly dwellPosition: number | null;
  readonly windowPercent: number | null;
  readonly windowLowPercent: number | null;
  readonly windowHighPercent: number | null;
  readonly exercisePercent: number | null;
  readonly flags: readonly string[];
}

export interface NewAssessment<Cell extends AssessmentCell = AssessmentCell> {
  readonly trial: Identifier;
  readonly method: Method;
  /** Version of the program that computed it. */
  readonly program: string;
  readonly cells: readonly Cell[];
  /** Everything else that belongs to the result; JSON. */
  readonly details: unknown;
  /** By whom and why, where a reviewer had it made; absent: nobody chose anything. */
  readonly review?: Review;
}

/** What a reviewer wants to say of a sealed trial. */
export interface NewVoiding extends Pick<Voiding, 'decision' | 'person' | 'program' | 'reason'> {
  readonly trial: string;
}

/** What somebody wants to sign. */
export interface NewSignature {
  readonly trial: string;
  /** Identifier of the assessment. */
  readonly assessment: string;
  readonly step: SignatureStep;
  /** Number of its last signature that stands, as whoever signs saw it; null: none. Absent: nobody looked. */
  readonly after?: number | null;
  /** Code. */
  readonly person: string;
  readonly reason: string;
  readonly program: string;
  /** Where the laboratory's private key lies; read where a real trial is released. */
  readonly keyFile: string;
}

/** A signature as it is kept. */
export interface StoredSignature {
  readonly signature: Signature;
  /** Hexadecimal: what the next signature and the study row hold of it. */
  readonly digest: string;
  /** Of Ed25519 over the canonical JSON of the signature, base64; empty where no key signed. */
  readonly keySignature: string;
}

export interface StoredAssessment {
  readonly assessment: Identifier;
  readonly trial: Identifier;
  readonly methodName: string;
  readonly methodVersion: number;
  /** Digests, hexadecimal: of the method, of the trial's last link when it was made, of the whole assessment. */
  readonly methodDigest: string;
  readonly trialHead: string;
  readonly digest: string;
  readonly program: string;
  readonly createdAt: string;
  readonly cells: readonly AssessmentCell[];
}

/** `bad`: the file is not what was recorded. `note`: something to know that proves nothing wrong. */
export type FindingSeverity = 'bad' | 'note';

export const findingCodes = {
  'database-damaged': 'The integrity check of the database fails.',
  'row-stray': 'Rows are there whose trial or assessment is not.',
  'schema-altered': 'Tables or protecting triggers are not those of this version.',
  'study-altered': 'The study row does not match its digest.',
  'frozen-missing': 'A frozen configuration is not there.',
  'frozen-added': 'A frozen configuration is there that the first link does not cover.',
  'frozen-altered': 'A frozen configuration is not what the first link covers.',
  'link-missing': 'A link of the chain is not there.',
  'link-altered': 'A link does not match its digest.',
  'link-misplaced': 'A link stands at another place than it was written for.',
  'chain-broken': 'A link does not continue the link before it.',
  'time-broken': 'A link does not begin where the one before ends, and no segment begins in it.',
  'chunk-missing': 'Readings of a stream and second are not there.',
  'chunk-altered': 'Readings of a stream and second are not what was recorded.',
  'chunk-added': 'Readings are there that no link covers.',
  'values-differ': 'The stored bytes are as recorded, but decode into other values.',
  'wire-missing': 'Wire bytes of an instrument and second are not there.',
  'wire-altered': 'Wire bytes of an instrument and second are not what was recorded.',
  'wire-added': 'Wire bytes are there that no link covers.',
  'event-missing': 'An event is not there.',
  'event-altered': 'An event is not what was recorded.',
  'event-added': 'An event is there that no link covers.',
  'tail-cut': 'A sealed trial has fewer links than were sealed.',
  'head-differs': 'The last link of a sealed trial is not the one that was sealed.',
  'trial-missing': 'A seal exists for a trial that is not there.',
  'seal-missing': 'A seal of the study-wide chain, or that of a trial that came to its end, is not there.',
  'seal-altered': 'A seal does not match its digest.',
  'assessment-missing': 'An assessment is not there.',
  'assessment-altered': 'An assessment does not match its digest.',
  'voiding-missing': 'A decision to make a trial void, or to take that back, is not there.',
  'voiding-altered': 'A decision to make a trial void, or to take that back, does not match its digest.',
  'signature-missing': 'A signature is not there.',
  'signature-altered': 'A signature, or what was signed, is not what it was.',
  unsealed: 'The trial is not sealed: its end cannot be proven.',
} as const;
export type FindingCode = keyof typeof findingCodes;

export interface Finding {
  readonly severity: FindingSeverity;
  readonly code: FindingCode;
  readonly trial: Identifier | null;
  readonly link: number | null;
  /** Second of trial time, counted from 0. */
  readonly second: number | null;
  /** `photometer/concentration`; for wire bytes `photometer in`. */
  readonly stream?: string;
  readonly text: string;
}

export interface VerifiedTrial {
  readonly trial: Identifier;
  readonly sealed: boolean;
  readonly links: number;
  /** Digest of the last link, hexadecimal. */
  readonly head: string;
}

/** A release, and whether the key that it names signed it. */
export interface VerifiedRelease {
  /** Number of the signature. */
  readonly number: number;
  readonly trial: Identifier;
  readonly assessment: Identifier;
  readonly person: string;
  readonly createdAt: string;
  /** It is the one that counts: neither taken back nor followed by another. */
  readonly stands: boolean;
  /** Of a virtual trial: no key signs these. */
  readonly rehearsal: boolean;
  /** The trial is void, whatever was released of it; as `voidingWords`. */
  readonly voided: string | null;
  readonly fingerprint: string | null;
  /** The signature is that of this key over this statement; null where no key signed. */
  readonly holds: boolean | null;
}

export interface VerifyReport {
  /** No finding of severity `bad`. */
  readonly intact: boolean;
  readonly study: StudyIdentity | null;
  /** Digest of the last seal, hexadecimal: compare it with the one printed in a report. */
  readonly sealHead: string | null;
  /** Digest of the last signature, hexadecimal; null where nothing is signed. */
  readonly signatureHead: string | null;
  readonly trials: readonly VerifiedTrial[];
  /** Every release, oldest first. */
  readonly releases: readonly VerifiedRelease[];
  readonly findings: readonly Finding[];
  /** What this check does not prove, in words. */
  readonly notCovered: readonly string[];
}
