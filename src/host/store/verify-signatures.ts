import type { Identifier } from '../../model/identity.ts';
import { followSignatures, refuseSigning, signatureSchema, unsigned } from '../../model/signature.ts';
import type { Signature } from '../../model/signature.ts';
import { voidingWords } from '../../model/voiding.ts';
import { canonicalJson } from './canonical-json.ts';
import { signatureDigest, voidingsDigest } from './chain.ts';
import type { Finding, VerifiedRelease, VerifyReport } from './contract.ts';
import type { Connection } from './database.ts';
import { equalBytes, toHexadecimal } from './digest.ts';
import { gapBetween, nameGap } from './number-gap.ts';
import { statementBytes } from './signatures.ts';
import { isSignedBy } from './signing-key.ts';
import { allTrials, hasSignatures, hasVoidings, lastLink, voidedIn } from './trial-rows.ts';

interface SignatureRow {
  readonly number: number;
  readonly trial: Identifier;
  readonly json: string;
  readonly digest: Uint8Array;
  readonly key_signature: string;
}

interface StudyRow {
  readonly study: string;
  readonly genesis: Uint8Array;
  readonly signatures?: number;
  readonly signature_head?: Uint8Array;
}

/** What the rest of the file says, for signatures to be held against. Digests in hexadecimal. */
interface Ground {
  readonly study: string;
  /** Of each trial that is there: its last link, and whether it is virtual (undefined: it cannot be told). */
  readonly trials: ReadonlyMap<string, { readonly head: string; readonly virtual: boolean | undefined }>;
  readonly seals: ReadonlyMap<string, { readonly number: number; readonly digest: string }>;
  /** By identifier. */
  readonly assessments: ReadonlyMap<string, AssessmentGround>;
  /** Of the decisions that trials are void, in their order. */
  readonly voidings: readonly Uint8Array[];
}

interface AssessmentGround {
  readonly trial: string;
  readonly digest: string;
  readonly program: string;
  readonly method: Signature['method'];
  readonly chosenBy: string | null;
}

type Checked = Pick<VerifyReport, 'releases' | 'signatureHead'>;

/**
 * Signatures: numbered without gaps, each with a digest and with that of the one before, in their own place, of what is
 * there still, in an order that the rules of signing allow, and where a key signed, by that key.
 * @returns head and every release; those whose signature cannot be read are findings only.
 */
export function checkSignatures(connection: Connection, study: StudyRow, findings: Finding[]): Checked {
  const { signatures: counted = 0, signature_head: head = empty } = study;
  const isThere = hasSignatures(connection);
  const rows = isThere ? connection.prepare<[], SignatureRow>('SELECT * FROM signature ORDER BY number').all() : [];
  if (rows.length === 0 && counted === 0 && head.length === 0) return { signatureHead: null, releases: [] };
  const ground = groundOf(connection, study);
  const signed = new Map<string, Signature[]>();
  const releases: VerifiedRelease[] = [];
  let before: Pick<SignatureRow, 'number' | 'digest'> = { number: 0, digest: study.genesis };
  for (const row of rows) {
    tellGap(before.number, row.number, findings);
    const { problem, signature } = examine(row, before, ground, signed);
    if (problem !== null) {
      findings.push(bad('signature-altered', `Signature number ${row.number}: ${problem}.`, row.trial));
    }
    if (signature !== null) {
      signed.set(row.trial, [...(signed.get(row.trial) ?? []), signature]);
      if (signature.step === 'released') releases.push(releaseOf(row, signature));
    }
    before = row;
  }
  tellGap(before.number, counted + 1, findings);
  const isHead = equalBytes(head, rows.length === 0 ? empty : before.digest);
  if (before.number > counted || (before.number === counted && !isHead)) {
    const what = 'Count and head of the signatures in the study row are not those of the signatures.';
    findings.push(bad('study-altered', what, null));
  }
  const standing = new Set([...signed.values()].map((own) => followSignatures(own).released?.number));
  return {
    signatureHead: toHexadecimal(head),
    releases: releases.map((release) => ({
      ...release,
      stands: standing.has(release.number),
      voided: voidedWords(connection, release.trial),
    })),
  };
}

const empty = new Uint8Array(0);

/** Null also for a decision that cannot be read: that is a finding of its own. */
function voidedWords(connection: Connection, trial: string): string | null {
  try {
    const voided = voidedIn(connection, trial, '');
    return voided === null ? null : voidingWords(voided);
  } catch {
    return null;
  }
}

function tellGap(before: number, next: number, findings: Finding[]): void {
  nameGap(gapBetween(before, next), (from, to) => {
    const what = from === to ? `Signature number ${from} is` : `Signatures number ${from} to ${to} are`;
    findings.push(bad('signature-missing', `${what} not there.`, null));
  });
}

function bad(code: Finding['code'], text: string, trial: Identifier | null): Finding {
  return { severity: 'bad', code, trial, link: null, second: null, text };
}

function releaseOf(row: SignatureRow, signature: Signature): VerifiedRelease {
  const { assessment, createdAt, key, number, person, rehearsal, trial } = signature;
  const holds = key === null ? null : isSignedBy(key, statementBytes(row.json), row.key_signature);
  const fingerprint = key?.fingerprint ?? null;
  return { number, trial, assessment, person, createdAt, stands: false, rehearsal, voided: null, fingerprint, holds };
}

/** What speaks against a row, in words, and what it states where that can be read. */
function examine(
  row: SignatureRow,
  before: Pick<SignatureRow, 'number' | 'digest'>,
  ground: Ground,
  signed: ReadonlyMap<string, readonly Signature[]>,
): { readonly problem: string | null; readonly signature: Signature | null } {
  if (!equalBytes(signatureDigest(row.json), row.digest)) {
    return { problem: 'it does not match its digest', signature: null };
  }
  const signature = parsed(row.json);
  if (signature === null) return { problem: 'it cannot be read', signature: null };
  // A member twice or one too many would be read by others as something else than by us.
  if (canonicalJson(signature) !== row.json) return { problem: 'it is not in canonical form', signature: null };
  const { number, previous, step, study, trial } = signature;
  const followed = before.number === row.number - 1;
  const own = followSignatures(signed.get(trial) ?? []).assessments.get(signature.assessment) ?? unsigned;
  const chosenBy = ground.assessments.get(signature.assessment)?.chosenBy ?? null;
  const problems = [
    study !== ground.study ? 'it is of another study' : null,
    trial !== row.trial ? 'it is about another trial' : null,
    number !== row.number ? `it stands in another place than number ${number}, for which it was made` : null,
    followed && previous !== toHexadecimal(before.digest) ? 'it does not continue the signature before it' : null,
    signature.restsOn !== (step === 'assessed' ? null : (own.standing.at(-1)?.number ?? null))
      ? 'it does not follow the signature that it rests on'
      : null,
    refuseSigning(own, signature, chosenBy)?.what ?? null,
    groundProblem(signature, ground),
    keyProblem(signature, row),
  ];
  return { problem: problems.find((problem) => problem !== null) ?? null, signature };
}

function parsed(json: string): Signature | null {
  try {
    const found = signatureSchema.safeParse(JSON.parse(json));
    return found.success ? found.data : null;
  } catch {
    return null;
  }
}

/** A trial or an assessment that is gone is named as well: it was signed. */
function groundProblem(signature: Signature, ground: Ground): string | null {
  const trial = ground.trials.get(signature.trial);
  const seal = ground.seals.get(signature.trial);
  const assessment = ground.assessments.get(signature.assessment);
  if (trial === undefined) return 'the trial that was signed is not there';
  if (trial.head !== signature.trialHead) return 'the trial does not end as it did when this was signed';
  if (trial.virtual !== undefined && trial.virtual !== signature.rehearsal) {
    return trial.virtual ? 'it releases virtual data as real ones' : 'it calls real data a rehearsal';
  }
  if (seal === undefined || seal.number !== signature.seal.number || seal.digest !== signature.seal.digest) {
    return 'the seal of the trial is not the one that was signed';
  }
  if (assessment === undefined) return `assessment ${signature.assessment}, which was signed, is not there`;
  const { digest, method, program } = assessment;
  const same =
    assessment.trial === signature.trial &&
    digest === signature.assessmentDigest &&
    program === signature.assessmentProgram &&
    method.name === signature.method.name &&
    method.version === signature.method.version &&
    method.digest === signature.method.digest;
  if (!same) return `assessment ${signature.assessment} is not what was signed`;
  const { count, digest: known } = signature.voidings;
  const isKnown = count <= ground.voidings.length;
  return isKnown && toHexadecimal(voidingsDigest(ground.voidings.slice(0, count))) === known
    ? null
    : 'decisions that trials are void are not those that were there when this was signed';
}

function keyProblem({ key, rehearsal, step }: Signature, { json, key_signature }: SignatureRow): string | null {
  const needed = step === 'released' && !rehearsal;
  if (key === null && needed) return 'no key signed this release';
  if (key !== null && !needed) return 'it names a key that signs no such step';
  if (key === null) return key_signature === '' ? null : 'it holds the signature of a key that it does not name';
  return isSignedBy(key, statementBytes(json), key_signature) ? null : 'the key that it names did not sign it';
}

interface AssessmentRow {
  readonly assessment: string;
  readonly trial: string;
  readonly digest: Uint8Array;
  readonly program: string;
  readonly name: string;
  readonly version: number;
  readonly method: Uint8Array;
  readonly chosen_by: unknown;
}

function groundOf(connection: Connection, { study }: StudyRow): Ground {
  const assessments = connection
    .prepare<[], AssessmentRow>(
      `SELECT assessment, trial, digest, program, method_name AS name, method_version AS version,
         method_digest AS method, CASE WHEN instr(json, '"review"') > 0 AND json_valid(json)
           THEN json_extract(json, '$.review.person') END AS chosen_by
       FROM assessment`,
    )
    .all();
  const headers = new Map(
    connection
      .prepare<[], { trial: number; virtual: unknown }>(
        `SELECT trial, CASE WHEN json_valid(json) THEN json_extract(json, '$.virtual') END AS virtual
         FROM frozen WHERE part = 'header'`,
      )
      .all()
      .map(({ trial, virtual }) => [trial, virtual === 1 ? true : virtual === 0 ? false : undefined] as const),
  );
  const seals = connection
    .prepare<[], { trial: string; seal: number; digest: Uint8Array }>('SELECT trial, seal, digest FROM seal')
    .all();
  const decided = hasVoidings(connection)
    ? connection.prepare<[], { digest: Uint8Array }>('SELECT digest FROM voiding ORDER BY number').all()
    : [];
  return {
    study,
    trials: new Map(
      allTrials(connection).map(({ number, trial }) => {
        const head = lastLink(connection, number)?.digest ?? empty;
        return [trial, { head: toHexadecimal(head), virtual: headers.get(number) }] as const;
      }),
    ),
    seals: new Map(seals.map(({ digest, seal, trial }) => [trial, { number: seal, digest: toHexadecimal(digest) }])),
    assessments: new Map(
      assessments.map(({ assessment, chosen_by: by, digest, method, name, program, trial, version }) => {
        const of = { name, version, digest: toHexadecimal(method) };
        const chosenBy = typeof by === 'string' ? by : null;
        return [assessment, { trial, digest: toHexadecimal(digest), program, method: of, chosenBy }] as const;
      }),
    ),
    voidings: decided.map(({ digest }) => digest),
  };
}
