import type { z } from 'zod';
import type { RegisterEntry } from '../../src/calibration/register/record.ts';
import { certificateFaults } from '../../src/calibration/register/register.ts';
import type { RegisteredEntry } from '../../src/calibration/register/register.ts';
import { certificateSchema, quantityFacts, registeredInstrumentSchema } from '../../src/model/certificate.ts';
import { certifiedQuantities } from '../../src/model/certificate.ts';
import type { Certificate, CertifiedQuantity, RegisteredKind } from '../../src/model/certificate.ts';
import type { FieldProblem } from '../ui/field-problem.ts';
import { problemOfIssue } from '../ui/field-problem.ts';
import { readNumber } from '../ui/read-number.ts';
import { registerWords } from '../words/register.ts';

/** What was typed, as an entry, or what is wrong by field. */
export interface Read<Field extends string> {
  readonly entry: RegisterEntry | null;
  readonly problems: ReadonlyMap<Field, FieldProblem>;
}

export interface InstrumentDraft {
  readonly instrument: string;
  readonly kind: RegisteredKind;
  readonly maker: string;
  readonly model: string;
  readonly serial: string;
}
export const noInstrument: InstrumentDraft = { instrument: '', kind: 'photometer', maker: '', model: '', serial: '' };

export function readInstrument(draft: InstrumentDraft): Read<keyof InstrumentDraft> {
  const { instrument, kind, maker, model, serial } = draft;
  const typed = {
    kind,
    ...{ instrument: instrument.trim(), maker: maker.trim(), model: model.trim(), serial: serial.trim() },
  };
  const parsed = registeredInstrumentSchema.safeParse(typed);
  const problems = problemsOf<keyof InstrumentDraft>(parsed.error);
  return { entry: parsed.success ? { entry: 'instrument', ...parsed.data } : null, problems };
}

/** A certificate as it is typed. */
export interface CertificateDraft {
  readonly number: string;
  readonly issuer: string;
  readonly quantity: CertifiedQuantity;
  readonly unit: string;
  readonly value: string;
  readonly expandedUncertainty: string;
  readonly coverageFactor: string;
  /** Empty: not stated. */
  readonly coveragePercent: string;
  readonly issuedOn: string;
  readonly validUntil: string;
}

/** What a certificate of a kind of instrument can state. */
export function quantitiesOf(kind: RegisteredKind): CertifiedQuantity[] {
  return certifiedQuantities.filter((name) => {
    const { kind: of } = quantityFacts[name];
    return of === null || of === kind;
  });
}

/** An empty one, or one that is like another: for what was mistyped. */
export function certificateDraft(kind: RegisteredKind, like: Certificate | null): CertificateDraft {
  if (like === null) {
    const [quantity = 'other'] = quantitiesOf(kind);
    return {
      ...{ number: '', issuer: '', quantity, unit: quantityFacts[quantity].unit ?? '', value: '' },
      ...{ expandedUncertainty: '', coverageFactor: '2', coveragePercent: '', issuedOn: '', validUntil: '' },
    };
  }
  const { coverageFactor, coveragePercent, expandedUncertainty, value } = like;
  const { issuedOn, issuer, number, quantity, unit, validUntil } = like;
  return {
    ...{ number, issuer, quantity, unit, issuedOn, validUntil },
    ...{ value: String(value), expandedUncertainty: String(expandedUncertainty) },
    ...{ coverageFactor: String(coverageFactor), coveragePercent: coveragePercent?.toString() ?? '' },
  };
}

const withoutFile = certificateSchema.omit({ file: true });

/** As `readInstrument`. What the host would refuse of an instrument is said beside the field. */
export function readCertificate(
  draft: CertificateDraft,
  of: Pick<RegisteredEntry, 'instrument' | 'kind'>,
): Read<keyof CertificateDraft> & { readonly certificate: Certificate | null } {
  const { coveragePercent, quantity } = draft;
  const number = (text: string): number | string => readNumber(text) ?? text;
  const typed = {
    ...{ number: draft.number.trim(), issuer: draft.issuer.trim(), quantity },
    unit: quantityFacts[quantity].unit ?? draft.unit.trim(),
    ...{ value: number(draft.value), expandedUncertainty: number(draft.expandedUncertainty) },
    coverageFactor: number(draft.coverageFactor),
    ...(coveragePercent.trim() === '' ? {} : { coveragePercent: number(coveragePercent) }),
    ...{ issuedOn: draft.issuedOn.trim(), validUntil: draft.validUntil.trim() },
  };
  const parsed = withoutFile.safeParse(typed);
  const problems = problemsOf<keyof CertificateDraft>(parsed.error);
  for (const field of ['value', 'expandedUncertainty', 'coverageFactor'] as const) {
    if (draft[field].trim() === '') problems.set(field, { kind: 'empty' });
  }
  for (const field of ['issuedOn', 'validUntil'] as const) {
    if (problems.has(field)) problems.set(field, dayProblem(draft[field]));
  }
  if (!parsed.success) return { entry: null, certificate: null, problems };
  for (const { fault, member } of certificateFaults(of, parsed.data)) {
    if (member !== 'file') problems.set(member, { kind: 'said', text: fault });
  }
  const certificate = parsed.data;
  const entry = { entry: 'certificate' as const, instrument: of.instrument, certificate };
  return { entry: problems.size === 0 ? entry : null, certificate, problems };
}

function dayProblem(text: string): FieldProblem {
  return text.trim() === '' ? { kind: 'empty' } : { kind: 'said', text: registerWords.notADay };
}

function problemsOf<Field extends string>(error: z.ZodError | undefined): Map<Field, FieldProblem> {
  const problems = new Map<Field, FieldProblem>();
  for (const issue of error?.issues ?? []) {
    const field = issue.path[0] as Field;
    if (!problems.has(field)) problems.set(field, problemOfIssue(issue));
  }
  return problems;
}
