import { dueList } from '../../src/calibration/register/due-list.ts';
import type { RegisteredEntry } from '../../src/calibration/register/register.ts';
import type { KeptCertificate } from '../../src/calibration/register/register.ts';
import { standingCertificates } from '../../src/calibration/register/register.ts';
import type { CertificateStanding } from '../../src/model/certificate.ts';

/** How an instrument stands with what its certificates say. */
export type RowStanding = CertificateStanding | 'none-needed';

/** A line of the list: an instrument with each certificate that counts, or the one that is missing. */
export interface RegisterRow {
  readonly entry: RegisteredEntry;
  readonly lines: readonly { readonly standing: RowStanding; readonly kept: KeptCertificate | null }[];
}

/** What the laboratory has, by what has to be done first; what it has no longer is apart. */
export function registerRows(
  entries: readonly RegisteredEntry[],
  nowMilliseconds: number,
): { readonly here: readonly RegisterRow[]; readonly gone: readonly RegisteredEntry[] } {
  const rows = new Map<string, { entry: RegisteredEntry; lines: RegisterRow['lines'][number][] }>();
  for (const { entry, kept, standing } of dueList(entries, nowMilliseconds)) {
    const row = rows.get(entry.instrument) ?? { entry, lines: [] };
    row.lines.push({ standing, kept });
    rows.set(entry.instrument, row);
  }
  return { here: [...rows.values()], gone: entries.filter(({ retired }) => retired !== null) };
}

/** How many certificates stand how; what is missing is counted with what is overdue. */
export function countsOf(rows: readonly RegisterRow[]): {
  readonly late: number;
  readonly soon: number;
  readonly valid: number;
  readonly none: number;
} {
  const standings = rows.flatMap(({ lines }) => lines.map(({ standing }) => standing));
  const count = (...of: readonly RowStanding[]): number => standings.filter((one) => of.includes(one)).length;
  return {
    late: count('expired', 'missing'),
    soon: count('due-soon'),
    valid: count('valid'),
    none: count('none-needed'),
  };
}

/** How each certificate of an instrument stands: those that count, then the others, newest record first. */
export function certificateLines(
  entry: RegisteredEntry,
  nowMilliseconds: number,
): { readonly kept: KeptCertificate; readonly standing: CertificateStanding | null }[] {
  const standing = new Map(
    standingCertificates(entry, nowMilliseconds).flatMap((one) =>
      one.kept === null ? [] : [[one.kept.record, one.standing] as const],
    ),
  );
  const lines = entry.certificates.map((kept) => ({ kept, standing: standing.get(kept.record) ?? null }));
  const newestFirst = [...lines].sort((a, b) => b.kept.record - a.kept.record);
  return [...newestFirst.filter((one) => one.standing !== null), ...newestFirst.filter((one) => one.standing === null)];
}
