import { ChambersideError } from '../../model/error-code.ts';
import { voidingSchema, voidingWords } from '../../model/voiding.ts';
import type { Voiding } from '../../model/voiding.ts';
import { canonicalJson } from './canonical-json.ts';
import { voidingDigest } from './chain.ts';
import type { NewVoiding } from './contract.ts';
import { openForReading, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { toHexadecimal } from './digest.ts';
import { hasVoidings, inForm, lastLink, parseStored, sealOf, trialRow, voidedIn } from './trial-rows.ts';
import { writeAlone } from './write-alone.ts';

/**
 * Writes one decision over an open connection; its own transaction.
 * @throws ChambersideError `trial-not-found`; `trial-not-finished` for a trial that is not sealed; `action-refused`
 *   where it changes nothing; `usage-bad-value` for a person or a reason that is none.
 */
export function insertVoiding(connection: Connection, path: string, entry: NewVoiding, now: string): Voiding {
  const row = trialRow(connection, entry.trial, path);
  if (sealOf(connection, entry.trial) === null) {
    const what = `Trial ${entry.trial} is not sealed, and only what is sealed can be made void`;
    throw new ChambersideError('trial-not-finished', what, path, 'Close it first; what is not sealed is no result.');
  }
  const standing = voidedIn(connection, entry.trial, path);
  if ((entry.decision === 'void') === (standing !== null)) throw unchanged(entry.trial, standing);
  const parsed = voidingSchema.safeParse({
    ...entry,
    trialHead: toHexadecimal(lastLink(connection, row.number)?.digest ?? new Uint8Array(0)),
    createdAt: now,
  });
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const where = issue?.path.map(String).join('.') ?? 'voiding';
    const what = issue?.message ?? 'not a decision';
    throw new ChambersideError('usage-bad-value', what, where, 'Give 1 to 400 characters.');
  }
  const json = canonicalJson(parsed.data);
  connection.transaction(() => {
    connection
      .prepare('INSERT INTO voiding (trial, json, digest) VALUES (?, ?, ?)')
      .run(entry.trial, json, voidingDigest(json));
    // So that one made last and then taken out is missed.
    connection.prepare('UPDATE study SET voidings = voidings + 1').run();
  })();
  return parsed.data;
}

function unchanged(trial: string, standing: Voiding | null): ChambersideError {
  const [what, remedy] =
    standing === null
      ? ['The trial is not void', 'There is nothing to take back.']
      : [`The trial is ${voidingWords(standing)}`, 'Take that back first, to give another reason.'];
  return new ChambersideError('action-refused', what, trial, remedy);
}

/** Stores a decision in a study that nobody records into. Errors as `insertVoiding` and `writeAlone`. */
export function storeVoiding(path: string, entry: NewVoiding, now: string = new Date().toISOString()): Voiding {
  return writeAlone(path, (connection) => insertVoiding(connection, path, entry, now));
}

/** Decisions on a trial, in the order they were made. @throws ChambersideError `file-damaged`, those of opening. */
export function readVoidings(path: string, trial: string): Voiding[] {
  const connection = openForReading('study', path);
  try {
    if (!hasVoidings(connection)) return [];
    return connection
      .prepare<[string], { json: string }>('SELECT json FROM voiding WHERE trial = ? ORDER BY number')
      .all(trial)
      .map(({ json }) => inForm(voidingSchema, parseStored(json, 'a voiding', path), 'a voiding', path) as Voiding);
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}
