import type { RegisteredEntry, StandingCertificate } from './register.ts';
import { standingCertificates } from './register.ts';

/** A certificate that counts, or one that is missing, with whose it is. */
export interface DueLine extends StandingCertificate {
  readonly entry: RegisteredEntry;
}

/**
 * What the laboratory has, by when something has to be done: what is missing, then by the last day on which it holds;
 * at the end what takes no certificate. What it has no longer is left out.
 */
export function dueList(
  entries: readonly RegisteredEntry[],
  nowMilliseconds: number,
): (DueLine | { readonly entry: RegisteredEntry; readonly standing: 'none-needed'; readonly kept: null })[] {
  const here = entries.filter(({ retired }) => retired === null);
  const lines = here.flatMap((entry) =>
    standingCertificates(entry, nowMilliseconds).map((one): DueLine => ({ entry, ...one })),
  );
  const named = new Set(lines.map(({ entry }) => entry.instrument));
  const others = here.filter(({ instrument }) => !named.has(instrument));
  // What is missing sorts before every day.
  const day = ({ kept }: DueLine): string => kept?.certificate.validUntil ?? '';
  return [
    ...lines.sort((one, other) => (day(one) < day(other) ? -1 : day(one) > day(other) ? 1 : 0)),
    ...others.map((entry) => ({ entry, standing: 'none-needed' as const, kept: null })),
  ];
}
