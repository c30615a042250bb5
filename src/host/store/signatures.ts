import type { KeyObject } from 'node:crypto';
import { z } from 'zod';
import { ChambersideError } from '../../model/error-code.ts';
import { followSignatures, refuseSigning, signatureSchema, signatureWords, unsigned } from '../../model/signature.ts';
import type { Signature } from '../../model/signature.ts';
import type { TrialHeader } from '../../model/trial-event.ts';
import { voidingWords } from '../../model/voiding.ts';
import { fileDamaged } from '../file-error.ts';
import { canonicalJson } from './canonical-json.ts';
import { assessmentDigest, signatureDigest, voidingsDigest } from './chain.ts';
import type { NewSignature, StoredSignature } from './contract.ts';
import { openForReading, storageError } from './database.ts';
import type { Connection } from './database.ts';
import { equalBytes, toHexadecimal } from './digest.ts';
import { signaturesIn } from './signature-rows.ts';
import { describeKey, readSigningKey, signBytes } from './signing-key.ts';
import { frozenPart, lastLink, trialRow, voidedIn } from './trial-rows.ts';
import { writeAlone } from './write-alone.ts';

interface SealRow {
  readonly seal: number;
  readonly digest: Uint8Array;
}

interface AssessmentRow {
  readonly assessment: string;
  readonly json: string;
  readonly digest: Uint8Array;
  readonly program: string;
  readonly method_name: string;
  readonly method_version: number;
  readonly method_digest: Uint8Array;
  readonly trial_head: Uint8Array;
}

interface StudyRow {
  readonly study: string;
  readonly genesis: Uint8Array;
  readonly signatures: number;
  readonly signature_head: Uint8Array;
}

/**
 * Writes one signature over an open connection; its own transaction. Whoever asks, by screen, bridge or command line,
 * comes through here: nobody reviews what they assessed, and what is virtual is a rehearsal.
 * @throws ChambersideError `trial-not-found`; `trial-not-finished` for a trial that is not sealed;
 *   `assessment-not-found`; `action-refused` out of order, by the person who assessed, or of a void trial;
 *   `file-damaged` for an assessment that is not what was assessed; `key-not-found`, `key-unusable` for a release;
 *   `usage-bad-value` for a person or a reason that is none.
 */
export function insertSignature(
  connection: Connection,
  path: string,
  entry: NewSignature,
  now: string,
): StoredSignature {
  const { step, trial } = entry;
  const row = trialRow(connection, trial, path);
  const seal = connection
    .prepare<[string], SealRow>('SELECT seal, digest FROM seal WHERE trial = ?')
    .get(trial);
  if (seal === undefined) {
    const what = `Trial ${trial} is not sealed, and only what is sealed can be signed`;
    throw new ChambersideError('trial-not-finished', what, path, 'Close it first; what is not sealed is no result.');
  }
  const { virtual } = frozenPart(connection, row.number, 'header', path) as TrialHeader;
  const head = lastLink(connection, row.number)?.digest ?? new Uint8Array(0);
  const assessment = assessmentToSign(connection, path, entry, head);
  refuseVoid(connection, path, entry);
  const own = signaturesIn(connection, path, trial).map(({ signature }) => signature);
  const signing = followSignatures(own).assessments.get(assessment.assessment) ?? unsigned;
  refuseUnseen(signing.standing.at(-1) ?? null, entry);
  const refused = refuseSigning(signing, entry, reviewerOf(assessment, path));
  if (refused !== null) throw new ChambersideError('action-refused', refused.what, trial, refused.remedy);
  const privateKey = step === 'released' && !virtual ? readSigningKey(entry.keyFile) : null;
  return connection.transaction((): StoredSignature => {
    const study = connection
      .prepare<[], StudyRow>('SELECT study, genesis, signatures, signature_head FROM study')
      .get();
    if (study === undefined) throw fileDamaged('The study row is not there', path);
    const signature = inForm({
      form: 'chamberside signature 1',
      study: study.study,
      number: study.signatures + 1,
      previous: toHexadecimal(study.signatures === 0 ? study.genesis : study.signature_head),
      trial,
      rehearsal: virtual,
      trialHead: toHexadecimal(head),
      seal: { number: seal.seal, digest: toHexadecimal(seal.digest) },
      assessment: assessment.assessment,
      assessmentDigest: toHexadecimal(assessment.digest),
      assessmentProgram: assessment.program,
      method: {
        name: assessment.method_name,
        version: assessment.method_version,
        digest: toHexadecimal(assessment.method_digest),
      },
      voidings: voidingsSoFar(connection),
      step,
      restsOn: signing.standing.at(-1)?.number ?? null,
      person: entry.person,
      reason: entry.reason,
      program: entry.program,
      createdAt: now,
      key: privateKey === null ? null : describeKey(privateKey),
    });
    return keep(connection, signature, privateKey);
  })();
}

/** Somebody has signed, or taken back, since whoever signs now looked: what they meant is not what would happen. */
function refuseUnseen(last: Signature | null, { after, trial }: NewSignature): void {
  if (after === undefined || after === (last?.number ?? null)) return;
  const now = last === null ? 'no signature of it stands any more' : `it is ${signatureWords(last)} now`;
  const what = `Somebody has signed this assessment, or taken a signature back, since you looked: ${now}`;
  throw new ChambersideError('action-refused', what, trial, 'Open the trial again, and look first.');
}

function keep(connection: Connection, signature: Signature, privateKey: KeyObject | null): StoredSignature {
  const json = canonicalJson(signature);
  const digest = signatureDigest(json);
  const keySignature = privateKey === null ? '' : signBytes(privateKey, statementBytes(json));
  connection
    .prepare('INSERT INTO signature (number, trial, json, digest, key_signature) VALUES (?, ?, ?, ?, ?)')
    .run(signature.number, signature.trial, json, digest, keySignature);
  // So that one made last and then taken out is missed.
  connection.prepare('UPDATE study SET signatures = ?, signature_head = ?').run(signature.number, digest);
  return { signature, digest: toHexadecimal(digest), keySignature };
}

/** What a key signs: the canonical JSON of a signature in UTF-8, and nothing else, so that any tool can check it. */
export function statementBytes(json: string): Uint8Array {
  return Buffer.from(json, 'utf8');
}

/** The decisions that trials of the study are void, as they stand. */
function voidingsSoFar(connection: Connection): Signature['voidings'] {
  const rows = connection.prepare<[], { digest: Uint8Array }>('SELECT digest FROM voiding ORDER BY number').all();
  return { count: rows.length, digest: toHexadecimal(voidingsDigest(rows.map(({ digest }) => digest))) };
}

/** Taking back is possible of a trial that is void: it says less, not more. */
function refuseVoid(connection: Connection, path: string, { step, trial }: NewSignature): void {
  const voided = step === 'withdrawn' ? null : voidedIn(connection, trial, path);
  if (voided === null) return;
  const what = `The trial is ${voidingWords(voided)}`;
  throw new ChambersideError('action-refused', what, trial, 'What is void has no result to sign.');
}

function assessmentToSign(
  connection: Connection,
  path: string,
  { assessment, step, trial }: NewSignature,
  head: Uint8Array,
): AssessmentRow {
  const row = connection
    .prepare<[string, string], AssessmentRow>(
      `SELECT assessment, json, digest, program, method_name, method_version, method_digest, trial_head
       FROM assessment WHERE trial = ? AND assessment = ?`,
    )
    .get(trial, assessment);
  if (row === undefined) {
    const remedy = 'List them: npx --no-install chamberside assess --list';
    throw new ChambersideError('assessment-not-found', `The trial has no assessment ${assessment}`, trial, remedy);
  }
  if (step === 'withdrawn') return row;
  if (!equalBytes(assessmentDigest(row.json), row.digest)) {
    throw fileDamaged(`Assessment ${assessment} does not match its digest`, path);
  }
  if (!equalBytes(row.trial_head, head)) {
    const what = `Assessment ${assessment} was made before the trial had come to its end`;
    throw new ChambersideError('action-refused', what, trial, 'Assess the trial again, and sign that.');
  }
  return row;
}

/** Code of the reviewer who had it made; null where nobody chose anything. */
function reviewerOf({ assessment, json }: AssessmentRow, path: string): string | null {
  const found = reviewForm.safeParse(JSON.parse(json));
  if (!found.success) throw fileDamaged(`The review of assessment ${assessment} cannot be read`, path, found.error);
  return found.data.review?.person ?? null;
}

const reviewForm = z.object({ review: z.object({ person: z.string() }).optional() });

function inForm(signature: Signature): Signature {
  const parsed = signatureSchema.safeParse(signature);
  if (parsed.success) return parsed.data;
  const [issue] = parsed.error.issues;
  const where = issue?.path.map(String).join('.') ?? 'signature';
  throw new ChambersideError('usage-bad-value', issue?.message ?? 'no signature', where, 'Give 1 to 400 characters.');
}

/** Signs in a study that nobody records into. Errors as `insertSignature` and `writeAlone`. */
export function storeSignature(
  path: string,
  entry: NewSignature,
  now: string = new Date().toISOString(),
): StoredSignature {
  return writeAlone(path, (connection) => insertSignature(connection, path, entry, now));
}

/** Signatures of a trial, or of the study, oldest first. @throws ChambersideError `file-damaged`, those of opening. */
export function readSignatures(path: string, trial?: string): StoredSignature[] {
  const connection = openForReading('study', path);
  try {
    return signaturesIn(connection, path, trial);
  } catch (error) {
    throw storageError(error, path);
  } finally {
    connection.close();
  }
}

/** `released by rita at 2026-11-27T09:00:00.000Z: checked against the log` */
export function describeSignature({ signature }: Pick<StoredSignature, 'signature'>): string {
  const rehearsal = signature.rehearsal ? ' (rehearsal)' : '';
  return `${signatureWords(signature)}${rehearsal} at ${signature.createdAt}: ${signature.reason}`;
}
