import { followSignatures, signatureSchema } from '../../model/signature.ts';
import type { Signature } from '../../model/signature.ts';
import { fileDamaged } from '../file-error.ts';
import type { StoredSignature } from './contract.ts';
import type { Connection } from './database.ts';
import { toHexadecimal } from './digest.ts';
import { hasSignatures, inForm, parseStored } from './trial-rows.ts';

/** Questions about signatures, over any connection to a study file. */

interface SignatureRow {
  readonly json: string;
  readonly digest: Uint8Array;
  readonly key_signature: string;
}

/** Oldest first, of one trial or of the study. @throws ChambersideError `file-damaged`. */
export function signaturesIn(connection: Connection, path: string, trial?: string): StoredSignature[] {
  if (!hasSignatures(connection)) return [];
  const rows = connection
    .prepare<
      [string | null, string | null],
      SignatureRow
    >('SELECT json, digest, key_signature FROM signature WHERE ? IS NULL OR trial = ? ORDER BY number')
    .all(trial ?? null, trial ?? null);
  return rows.map(({ digest, json, key_signature: keySignature }) => ({
    signature: inForm(signatureSchema, parseStored(json, 'a signature', path), 'a signature', path) as Signature,
    digest: toHexadecimal(digest),
    keySignature,
  }));
}

/** The release that stands, by trial; a trial without one is not in it. @throws ChambersideError `file-damaged`. */
export function releasesIn(connection: Connection, path: string): Map<string, Signature> {
  const byTrial = new Map<string, Signature[]>();
  for (const { signature } of signaturesIn(connection, path)) {
    const own = byTrial.get(signature.trial);
    if (own === undefined) byTrial.set(signature.trial, [signature]);
    else own.push(signature);
  }
  const releases = new Map<string, Signature>();
  for (const [trial, own] of byTrial) {
    const { released } = followSignatures(own);
    if (released !== null) releases.set(trial, released);
  }
  return releases;
}

/**
 * Numbers of the assessments that count, by trial: the released one, else the newest.
 * @throws ChambersideError `file-damaged`, also where a released assessment is not there: no other stands in for it.
 */
export function countingAssessments(
  connection: Connection,
  path: string,
  releases: ReadonlyMap<string, Signature> = releasesIn(connection, path),
): Map<string, number> {
  const sql = 'SELECT trial, max(number) AS number FROM assessment GROUP BY trial';
  const newest = connection.prepare<[], { trial: string; number: number }>(sql).all();
  const counting = new Map(newest.map(({ number, trial }) => [trial, number]));
  const named = connection.prepare<[string, string], { number: number }>(
    'SELECT number FROM assessment WHERE trial = ? AND assessment = ?',
  );
  for (const [trial, { assessment }] of releases) {
    const row = named.get(trial, assessment);
    if (row === undefined) throw fileDamaged(`The released assessment ${assessment} of ${trial} is not there`, path);
    counting.set(trial, row.number);
  }
  return counting;
}
