import { z } from 'zod';
import { codeSchema, identifierSchema } from './identity.ts';

/** Characters of a reason that a person gives: for a signature, a void trial, another method. */
export const longestReason = 400;

/** Why somebody signs, or takes a signature back. */
export const signatureReasonSchema = z.string().trim().min(1).max(longestReason);

/** The steps of an assessment in their order, and what takes the last one that stands back. */
export const signatureStepSchema = z.enum(['assessed', 'reviewed', 'released', 'withdrawn']);
export type SignatureStep = z.infer<typeof signatureStepSchema>;

const digestSchema = z.string().regex(/^[0-9a-f]{64}$/, 'not a SHA-256 digest in hexadecimal');

/** A public key as it stands in a signature. */
export const signatureKeySchema = z.object({
  algorithm: z.literal('Ed25519'),
  /** SHA-256 of the key's SubjectPublicKeyInfo (RFC 8410), hexadecimal. */
  fingerprint: digestSchema,
  /** SubjectPublicKeyInfo, base64. */
  publicKey: z.string(),
});
export type SignatureKey = z.infer<typeof signatureKeySchema>;

/**
 * What somebody states of an assessment, on exactly which versions: the canonical statement, which a key of the
 * laboratory signs when a real trial is released. Never changed; taken back by another one only.
 */
export const signatureSchema = z.object({
  form: z.literal('chamberside signature 1'),
  study: identifierSchema,
  /** From 1 without gaps over the study. */
  number: z.number().int().positive(),
  /** Digest of the signature before; of number 1: genesis of the study. */
  previous: digestSchema,
  trial: identifierSchema,
  /** The data of the trial are those of a virtual rig: nothing that is signed is a result. */
  rehearsal: z.boolean(),
  trialHead: digestSchema,
  seal: z.object({ number: z.number().int().positive(), digest: digestSchema }),
  assessment: identifierSchema,
  assessmentDigest: digestSchema,
  /** Version of the program that assessed. */
  assessmentProgram: z.string(),
  method: z.object({ name: z.string(), version: z.number().int(), digest: digestSchema }),
  /** Decisions that trials of the study are void, as they stood: how many, and the digest of their digests. */
  voidings: z.object({ count: z.number().int().nonnegative(), digest: digestSchema }),
  step: signatureStepSchema,
  /** Number of the signature that this one follows or takes back; null for `assessed`. */
  restsOn: z.number().int().positive().nullable(),
  person: codeSchema,
  reason: signatureReasonSchema,
  /** Version of the program that was signed with. */
  program: z.string(),
  /** ISO 8601 in UTC, by the computer's clock. */
  createdAt: z.string(),
  /** Of a release of a real trial; null for every other. */
  key: signatureKeySchema.nullable(),
});
export type Signature = z.infer<typeof signatureSchema>;

/** What the rules of signing go by. */
export type SignedStep = Pick<Signature, 'assessment' | 'number' | 'person' | 'step'>;

/** Where the signatures of one assessment have led. */
export interface AssessmentSigning<One extends SignedStep = SignedStep> {
  /** Those that stand, in order: none; assessed; assessed, reviewed; assessed, reviewed, released. */
  readonly standing: readonly One[];
  /** Codes of everybody who ever signed it as assessed, also of those who took that back. */
  readonly assessedBy: readonly string[];
}

/** Where the signatures of one trial have led. */
export interface TrialSigning<One extends SignedStep = SignedStep> {
  readonly assessments: ReadonlyMap<string, AssessmentSigning<One>>;
  /** The release that stands: its assessment is the trial's result. */
  readonly released: One | null;
}

const order = ['assessed', 'reviewed', 'released'] as const;
export const unsigned: AssessmentSigning<never> = { standing: [], assessedBy: [] };

/**
 * Follows the signatures of one trial, oldest first. A release takes the place of an earlier one of another assessment,
 * which does not come back when the later one is taken back: what counts is always what was said last.
 */
export function followSignatures<One extends SignedStep>(signatures: readonly One[]): TrialSigning<One> {
  const assessments = new Map<string, AssessmentSigning<One>>();
  let released: One | null = null;
  const of = (assessment: string): AssessmentSigning<One> => assessments.get(assessment) ?? unsigned;
  for (const signature of signatures) {
    const { assessment, person, step } = signature;
    if (step === 'withdrawn') {
      const { assessedBy, standing } = of(assessment);
      if (standing.at(-1)?.number === released?.number) released = null;
      assessments.set(assessment, { assessedBy, standing: standing.slice(0, -1) });
      continue;
    }
    if (step === 'released') {
      const before: One | null = released;
      if (before !== null) {
        const { assessedBy, standing } = of(before.assessment);
        assessments.set(before.assessment, { assessedBy, standing: standing.slice(0, -1) });
      }
      released = signature;
    }
    const { assessedBy, standing } = of(assessment);
    assessments.set(assessment, {
      assessedBy: step === 'assessed' ? [...assessedBy, person] : assessedBy,
      standing: [...standing, signature],
    });
  }
  return { assessments, released };
}

/** Why a signature cannot follow those that stand, and what to do. */
export interface SigningRefusal {
  readonly what: string;
  readonly remedy: string;
}

/**
 * What speaks against one more signature on an assessment: a step out of its order, one that stands already, or
 * somebody who would review what they assessed. Null: nothing.
 * @param chosenBy code of the reviewer who had the assessment made; null: nobody chose anything.
 */
export function refuseSigning(
  { assessedBy, standing }: AssessmentSigning,
  { person, step }: Pick<Signature, 'person' | 'step'>,
  chosenBy: string | null,
): SigningRefusal | null {
  if (step === 'withdrawn') {
    if (standing.length > 0) return null;
    return { what: 'No signature of this assessment stands', remedy: 'There is nothing to take back.' };
  }
  const stands = standing.find((one) => one.step === step);
  if (stands !== undefined) {
    const what = `The assessment is signed as ${step} by ${stands.person} already`;
    return { what, remedy: 'Take that back first, to sign it anew.' };
  }
  const next = order[standing.length];
  if (step !== next) {
    const what = `The assessment is not signed as ${String(next)}, and so cannot be signed as ${step}`;
    return { what, remedy: `Have it signed as ${String(next)} first.` };
  }
  const remedy = 'Have it reviewed by another person.';
  if (step === 'reviewed' && assessedBy.some((code) => isSameCode(code, person))) {
    return { what: `${person} signed this assessment as assessed, and cannot review it`, remedy };
  }
  if (step === 'reviewed' && chosenBy !== null && isSameCode(chosenBy, person)) {
    return { what: `${person} had this assessment made, and cannot review it`, remedy };
  }
  return null;
}

/** Capitals do not make another person. */
function isSameCode(one: string, other: string): boolean {
  return one.toLowerCase() === other.toLowerCase();
}

/** `released by rita` */
export function signatureWords({ person, step }: Pick<Signature, 'person' | 'step'>): string {
  return step === 'withdrawn' ? `taken back by ${person}` : `${step} by ${person}`;
}
