import { quantityFacts } from '../../model/certificate.ts';
import type {
  Certificate,
  CertificateStanding,
  CertifiedQuantity,
  RegisteredInstrument,
  RegisteredKind,
  RegisteredPlace,
  SupportingCertificate,
} from '../../model/certificate.ts';
import { dayNumber } from '../../model/day.ts';
import { certificateDoubt } from './certificate-doubt.ts';
import type { RegisterRecord } from './record.ts';

/** A certificate that is in the register, whether it counts or not. */
export interface KeptCertificate {
  /** Number of its record. */
  readonly record: number;
  readonly certificate: Certificate;
  /** Why it counts no longer; null while it does. */
  readonly withdrawn: string | null;
}

/** An instrument of the laboratory, with all that is known of it now. */
export interface RegisteredEntry extends RegisteredInstrument {
  /** Why the laboratory has it no longer; null while it has. */
  readonly retired: string | null;
  readonly placed: { readonly rig: string; readonly at: RegisteredPlace } | null;
  /** In the order in which they were put down. */
  readonly certificates: readonly KeptCertificate[];
}

/** A certificate that counts for an instrument, and how it stands; null where there is none. */
export interface StandingCertificate {
  readonly standing: CertificateStanding;
  readonly kept: KeptCertificate | null;
}

/** A certificate is due soon in its last days. Common practice, no source. */
export const soonDays = 30;
const dayMilliseconds = 86_400_000;

/** Every instrument by its code, in the order of their first records. Later records say what holds. */
export function foldRegister(records: readonly RegisterRecord[]): RegisteredEntry[] {
  const entries = new Map<string, RegisteredEntry>();
  for (const { entry, number } of records) {
    const known = entries.get(entry.instrument);
    if (entry.entry === 'instrument') {
      const { instrument, kind, maker, model, serial } = entry;
      const before = known ?? { placed: null, certificates: [] };
      entries.set(instrument, { ...before, instrument, kind, maker, model, serial, retired: null });
      continue;
    }
    if (known === undefined) continue;
    switch (entry.entry) {
      case 'retired':
        entries.set(entry.instrument, { ...known, retired: entry.reason, placed: null });
        break;
      case 'certificate': {
        const kept: KeptCertificate = { record: number, certificate: entry.certificate, withdrawn: null };
        entries.set(entry.instrument, { ...known, certificates: [...known.certificates, kept] });
        break;
      }
      case 'withdrawn': {
        const certificates = known.certificates.map((one) =>
          one.record === entry.record ? { ...one, withdrawn: entry.reason } : one,
        );
        entries.set(entry.instrument, { ...known, certificates });
        break;
      }
      case 'placed': {
        const { at, rig } = entry;
        const placed = at === null || rig === null ? null : { rig, at };
        // What stood there before has made room.
        if (placed !== null) {
          for (const [code, other] of entries) {
            if (other.kind === known.kind && other.placed !== null && isSamePlace(other.placed, placed)) {
              entries.set(code, { ...other, placed: null });
            }
          }
        }
        entries.set(entry.instrument, { ...(entries.get(entry.instrument) ?? known), placed });
      }
    }
  }
  return [...entries.values()];
}

/**
 * The certificates of an instrument that count on a day, one for each quantity: of those that are not withdrawn the
 * one issued last, and of one day the one put down last. One that is missing where there is none at all.
 * @param nowMilliseconds ms since 1970; days are those of UTC.
 */
export function standingCertificates(entry: RegisteredEntry, nowMilliseconds: number): StandingCertificate[] {
  const newest = new Map<CertifiedQuantity, KeptCertificate>();
  for (const kept of entry.certificates) {
    if (kept.withdrawn !== null) continue;
    const { issuedOn, quantity } = kept.certificate;
    const other = newest.get(quantity);
    if (other === undefined || issuedOn >= other.certificate.issuedOn) newest.set(quantity, kept);
  }
  if (newest.size === 0) return certifiedKinds.has(entry.kind) ? [{ standing: 'missing', kept: null }] : [];
  return [...newest.values()].map((kept) => ({
    standing: standingOf(kept.certificate.validUntil, nowMilliseconds),
    kept,
  }));
}

/** What a trial on a rig rests on from now: every certificate of what works in it; what has none is named too. */
export function supportingCertificates(
  rig: string,
  entries: readonly RegisteredEntry[],
  nowMilliseconds: number,
): SupportingCertificate[] {
  return entries.flatMap((entry) => {
    const { instrument, kind, maker, model, placed, serial } = entry;
    if (placed?.rig !== rig) return [];
    const about = { instrument, kind, maker, model, serial, at: placed.at };
    return standingCertificates(entry, nowMilliseconds).map(({ kept, standing }): SupportingCertificate => {
      if (kept === null) return { ...about, standing, certificate: null };
      const { certificate, record } = kept;
      return { ...about, standing, certificate: { ...certificate, record, ...certificateDoubt(certificate) } };
    });
  });
}

/** Why a certificate cannot be as it is said, by member; empty when nothing speaks against it. */
export function certificateFaults(
  instrument: Pick<RegisteredInstrument, 'kind'>,
  certificate: Certificate,
): { readonly member: keyof Certificate; readonly fault: string }[] {
  const { issuedOn, quantity, unit, validUntil, value } = certificate;
  const { kind, unit: fixed } = quantityFacts[quantity];
  const faults: { member: keyof Certificate; fault: string }[] = [];
  if (kind !== null && kind !== instrument.kind) {
    faults.push({ member: 'quantity', fault: `is for a ${kind}, and this is of kind ${instrument.kind}` });
  }
  if (fixed !== null && unit !== fixed) faults.push({ member: 'unit', fault: 'is 1: the quantity is a ratio' });
  if (fixed !== null && !(value > 0)) faults.push({ member: 'value', fault: 'must be above 0' });
  if (quantity === 'dilution' && value < 1) {
    faults.push({ member: 'value', fault: 'must be at least 1: a diluter adds no aerosol' });
  }
  if (quantity === 'penetration' && value > 1) {
    faults.push({ member: 'value', fault: 'must be at most 1: a line adds no aerosol' });
  }
  if (validUntil < issuedOn) faults.push({ member: 'validUntil', fault: 'lies before the day of issue' });
  return faults;
}

/**
 * Whole days until a certificate's last day, which counts as 0; negative: for so many days it has been over. By UTC.
 * @param validUntil ISO 8601 day. @param nowMilliseconds since 1970.
 */
export function daysLeft(validUntil: string, nowMilliseconds: number): number {
  return dayNumber(validUntil) - Math.floor(nowMilliseconds / dayMilliseconds);
}

function standingOf(validUntil: string, nowMilliseconds: number): CertificateStanding {
  // It holds until the end of its last day.
  const left = dayNumber(validUntil) + 1 - nowMilliseconds / dayMilliseconds;
  if (left <= 0) return 'expired';
  return left <= soonDays ? 'due-soon' : 'valid';
}

type Placed = NonNullable<RegisteredEntry['placed']>;

/** Of one rig, and the same place in it. */
export function isSamePlace(one: Placed, other: Placed): boolean {
  return one.rig === other.rig && placeInWords(one.at) === placeInWords(other.at);
}

/** `port ankle`, `instrument photometer`, `chamber` */
export function placeInWords(at: RegisteredPlace): string {
  return at.place === 'chamber' ? at.place : `${at.place} ${at.name}`;
}

/** As much of a rig as tells where something can work. */
interface PlacesOfRig {
  readonly instruments: readonly { readonly instrument: string; readonly kind: string }[];
  readonly ports: readonly { readonly probe: string }[];
}

/** Why something of a kind cannot work at a place of a rig; null when it can. */
export function placeFault(kind: RegisteredKind, at: RegisteredPlace, rig: PlacesOfRig): string | null {
  const wanted = lineKinds.has(kind) ? 'port' : kind === 'chamber' ? 'chamber' : 'instrument';
  if (kind !== 'other' && at.place !== wanted) return `a ${kind} is placed at ${placeWords[wanted]}`;
  if (at.place === 'chamber') return null;
  if (at.place === 'port') {
    return rig.ports.some(({ probe }) => probe === at.name) ? null : `the rig has no port called ${at.name}`;
  }
  const found = rig.instruments.find(({ instrument }) => instrument === at.name);
  if (found === undefined) return `the rig has no instrument called ${at.name}`;
  return kind === 'other' || found.kind === kind ? null : `${at.name} is a ${found.kind}, and this a ${kind}`;
}

/** What takes a certificate, because results or conditions rest on its numbers. */
const certifiedKinds: ReadonlySet<RegisteredKind> = new Set<RegisteredKind>([
  ...(['photometer', 'climate', 'pressure-flow', 'diluter', 'sampling-line', 'chamber'] as const),
]);

/** What sits in the line of a port. */
const lineKinds: ReadonlySet<RegisteredKind> = new Set<RegisteredKind>(['diluter', 'sampling-line']);
const placeWords = { port: 'a port', chamber: 'the chamber', instrument: 'an instrument of the rig' } as const;
