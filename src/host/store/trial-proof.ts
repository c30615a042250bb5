import type { RecordedInstrument, StudyIdentity } from './contract.ts';
import { openForReading, storageError } from './database.ts';
import { toHexadecimal } from './digest.ts';
import { frozenPart, studyIdentity, trialRow } from './trial-rows.ts';

/** What a report prints of a trial so that it can be held against the file later. Digests are hexadecimal. */
export interface TrialProof {
  readonly study: StudyIdentity;
  /** Ascending by part. */
  readonly frozen: readonly { readonly part: string; readonly digest: string }[];
  readonly instruments: readonly RecordedInstrument[];
  /** Of the trial's own seal; null while it is not sealed. */
  readonly sealDigest: string | null;
}

/** @throws ChambersideError `trial-not-found` and those of opening a file. */
export function readTrialProof(path: string, trial: string): TrialProof {
  const connection = openForReading('study', path);
  try {
    const { number } = trialRow(connection, trial, path);
    const frozen = connection
      .prepare<[number], { part: string; digest: Uint8Array }>(
        'SELECT part, digest FROM frozen WHERE trial = ? ORDER BY part',
      )
      .all(number);
    const seal = connection
      .prepare<[string], { digest: Uint8Array }>('SELECT digest FROM seal WHERE trial = ?')
      .get(trial);
    return {
      study: studyIdentity(connection, path),
      frozen: frozen.map(({ part, digest }) => ({ part, digest: toHexadecimal(digest) })),
      instruments: frozenPart(connection, number, 'instruments', path) as RecordedInstrument[],
      sealDigest: seal === undefined ? null : toHexadecimal(seal.digest),
    };
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}
