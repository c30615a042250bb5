import type { ReviewAsk, SignAsk, VoidAsk } from '../../bridge/review.ts';
import type { Identifier } from '../../model/identity.ts';
import type { Computer } from '../compute/computer.ts';
import type { StudyRecorder } from '../store/contract.ts';
import { keyFileOf } from '../store/signing-key.ts';

/** What people decide of trials that are sealed; each asks for a PIN, and each becomes a record beside the others. */
export interface SealedDesk {
  /** As a reviewer wants it. @throws ChambersideError as `requireReviewer` and `assessReviewed`. */
  review(file: string, trial: Identifier, asked: ReviewAsk): Promise<Identifier>;
  /** A reviewer makes a sealed trial void, or takes that back. @throws as `requireReviewer` and `insertVoiding`. */
  decide(file: string, trial: Identifier, asked: VoidAsk): Promise<void>;
  /** One more signature of an assessment. @throws ChambersideError as `requireSigner` and `insertSignature`. */
  sign(file: string, trial: Identifier, asked: SignAsk): Promise<void>;
}

export interface SealedDeskOptions {
  readonly program: string;
  readonly wallNow: () => Date;
  readonly computing: Computer;
  /** Path of the laboratory file. */
  readonly laboratory: string;
  /** Path of a study of the folder. @throws `file-not-found`. */
  readonly pathOf: (file: string) => string;
  /** Who records into the study of this path, and so writes all that comes into it; null: nobody here. */
  readonly recordingInto: (path: string) => StudyRecorder | null;
  /** The folder holds something new. */
  readonly onFolder: () => Promise<void>;
}

export function createSealedDesk(options: SealedDeskOptions): SealedDesk {
  const { computing, laboratory, program } = options;
  return {
    async review(file, trial, { leftOut, method, person, pin, reason }) {
      const path = options.pathOf(file);
      const review = { person, reason, leftOut };
      const entry = await computing.do('review', { path, trial, method, program, laboratory, review, pin });
      const recording = options.recordingInto(path);
      const now = options.wallNow().toISOString();
      const { assessment } =
        recording !== null
          ? await recording.storeAssessment(entry)
          : await computing.do('keep-assessment', { path, entry, now });
      await options.onFolder();
      return assessment;
    },
    async decide(file, trial, { decision, person, pin, reason }) {
      const path = options.pathOf(file);
      await computing.do('ask-reviewer', { laboratory, person, pin });
      const entry = { trial, decision, person, reason: reason.trim(), program };
      const recording = options.recordingInto(path);
      if (recording !== null) await recording.storeVoiding(entry);
      else await computing.do('keep-voiding', { path, entry, now: options.wallNow().toISOString() });
      await options.onFolder();
    },
    async sign(file, trial, { after, assessment, person, pin, reason, step }) {
      const path = options.pathOf(file);
      await computing.do('ask-signer', { path, trial, step, laboratory, person, pin });
      const keyFile = keyFileOf(laboratory);
      const entry = { trial, assessment, step, after, person, reason: reason.trim(), program, keyFile };
      const recording = options.recordingInto(path);
      if (recording !== null) await recording.storeSignature(entry);
      else await computing.do('keep-signature', { path, entry, now: options.wallNow().toISOString() });
      await options.onFolder();
    },
  };
}
