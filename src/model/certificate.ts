import { z } from 'zod';
import { codeSchema, slugSchema } from './identity.ts';

/** What a laboratory keeps in its register: kinds of instruments, and what certificates are about besides. */
export const registeredKinds = [
  'photometer',
  'selector-valve',
  'heart-rate',
  'breathing',
  'climate',
  'ergometer',
  'contact',
  'pressure-flow',
  'diluter',
  'sampling-line',
  'chamber',
  'other',
] as const;
export const registeredKindSchema = z.enum(registeredKinds);
export type RegisteredKind = z.infer<typeof registeredKindSchema>;

/**
 * What a certificate states, of which kind of instrument, in which unit, and whether an assessment computes with it.
 * Unit null: as on the certificate.
 */
export const quantityFacts = {
  linearity: {
    kind: 'photometer',
    unit: '1',
    counts: true,
    words: 'response at the levels inside ÷ response at the level of the chamber',
  },
  scale: { kind: 'photometer', unit: '1', counts: false, words: 'reading ÷ true concentration' },
  dilution: { kind: 'diluter', unit: '1', counts: true, words: '(sample + make-up flow) ÷ sample flow' },
  penetration: { kind: 'sampling-line', unit: '1', counts: true, words: 'share of the aerosol that passes the line' },
  'spatial-factor': {
    kind: 'chamber',
    unit: '1',
    counts: true,
    words: 'challenge at the subject’s place ÷ at the reference point',
  },
  temperature: { kind: 'climate', unit: null, counts: false, words: 'correction of the temperature' },
  humidity: { kind: 'climate', unit: null, counts: false, words: 'correction of the relative humidity' },
  pressure: { kind: 'pressure-flow', unit: null, counts: false, words: 'correction of the pressure' },
  flow: { kind: 'pressure-flow', unit: null, counts: false, words: 'correction of the flow' },
  other: { kind: null, unit: null, counts: false, words: 'as the certificate says' },
} as const satisfies Record<
  string,
  {
    readonly kind: RegisteredKind | null;
    readonly unit: string | null;
    readonly counts: boolean;
    readonly words: string;
  }
>;
export type CertifiedQuantity = keyof typeof quantityFacts;
export const certifiedQuantities = Object.keys(quantityFacts) as [CertifiedQuantity, ...CertifiedQuantity[]];

/** What stands on paper: one line, not blank. */
const lineSchema = z
  .string()
  .min(1)
  .max(120)
  .regex(/\S/, 'use more than blanks')
  .regex(/^[^\p{Cc}\p{Zl}\p{Zp}]*$/u, 'use one line, without control characters');

/** An instrument as the maker names it. */
export const registeredInstrumentSchema = z.object({
  /** Code in the laboratory: what is typed and printed. `PH-1` */
  instrument: codeSchema,
  kind: registeredKindSchema,
  maker: lineSchema,
  model: lineSchema,
  serial: lineSchema,
});
export type RegisteredInstrument = z.infer<typeof registeredInstrumentSchema>;

/** Where an instrument does its work in a rig. */
export const registeredPlaceSchema = z.discriminatedUnion('place', [
  /** As an instrument of the rig, under the name that it has there. */
  z.object({ place: z.literal('instrument'), name: slugSchema }),
  /** In the line of a port, by the name of its probe. */
  z.object({ place: z.literal('port'), name: slugSchema }),
  z.object({ place: z.literal('chamber') }),
]);
export type RegisteredPlace = z.infer<typeof registeredPlaceSchema>;

/** A file that came with a certificate. */
export const attachedFileSchema = z.object({
  name: z.string().min(1).max(200),
  bytes: z.number().int().positive(),
  /** SHA-256 of its bytes, hexadecimal. */
  digest: z.string().regex(/^[0-9a-f]{64}$/, 'not a SHA-256'),
  mediaType: z.string(),
});
export type AttachedFile = z.infer<typeof attachedFileSchema>;

const daySchema = z.iso.date();

/** One value of a certificate. Expanded uncertainty and coverage factor are kept as they are printed. */
export const certificateSchema = z.object({
  /** Number of the certificate, as printed. */
  number: lineSchema,
  issuer: lineSchema,
  quantity: z.enum(certifiedQuantities),
  /** Of value and expanded uncertainty; `1` for a ratio. */
  unit: z.string().min(1).max(20),
  value: z.number(),
  /** U, in the unit of the value. */
  expandedUncertainty: z.number().nonnegative(),
  /** k: U = k · u. */
  coverageFactor: z.number().min(1).max(100),
  /** Coverage probability for which U is stated, percent; absent: not on the certificate. */
  coveragePercent: z.number().min(50).max(99.99).optional(),
  /** Days, ISO 8601. The last day on which it holds is `validUntil`. */
  issuedOn: daySchema,
  validUntil: daySchema,
  file: attachedFileSchema.optional(),
});
export type Certificate = z.infer<typeof certificateSchema>;

export const certificateStandingSchema = z.enum(['valid', 'due-soon', 'expired', 'missing']);
export type CertificateStanding = z.infer<typeof certificateStandingSchema>;

/** An instrument of the register that a trial rests on, with a certificate of it as it stood at preparing. */
export const supportingCertificateSchema = z.object({
  ...registeredInstrumentSchema.shape,
  ...{ at: registeredPlaceSchema, standing: certificateStandingSchema },
  /** Null where the register holds none. */
  certificate: certificateSchema
    .extend({
      /** Its number in the register of the laboratory. */
      record: z.number().int().positive(),
      /** u = U/k, in the unit of the value. */
      standardUncertainty: z.number().nonnegative(),
      /** That k tells; null: none, or so many that they do not matter. */
      degreesOfFreedom: z.number().positive().nullable(),
    })
    .nullable(),
});
export type SupportingCertificate = z.infer<typeof supportingCertificateSchema>;

/** Those that a trial should not rest on. */
export function doubtfulCertificates(
  certificates: readonly SupportingCertificate[] | undefined,
): SupportingCertificate[] {
  return (certificates ?? []).filter(({ standing }) => standing === 'expired' || standing === 'missing');
}

/** `certificate C-17 of PH-1 (linearity), valid until 2026-01-31` */
export function certificateName({ certificate, instrument }: SupportingCertificate): string {
  if (certificate === null) return `a certificate of ${instrument}, which has none`;
  const { number, quantity, validUntil } = certificate;
  return `certificate ${number} of ${instrument} (${quantity.replaceAll('-', ' ')}), valid until ${validUntil}`;
}
