import { dueList } from '../../calibration/register/due-list.ts';
import type { RegisterRecord } from '../../calibration/register/record.ts';
import { placeInWords } from '../../calibration/register/register.ts';
import type { RegisteredEntry } from '../../calibration/register/register.ts';
import type { Certificate } from '../../model/certificate.ts';
import { formatTable } from './table.ts';

const standingWords = {
  valid: 'valid',
  'due-soon': 'due soon',
  expired: 'EXPIRED',
  missing: 'MISSING',
  'none-needed': 'takes none',
} as const;

/** What the laboratory has, soonest due first; what it has no longer at the end, by its codes. */
export function instrumentTable(entries: readonly RegisteredEntry[], nowMilliseconds: number): string {
  if (entries.length === 0) return 'The register is empty. Add the first instrument with --add.';
  const first = ['instrument', 'kind', 'maker, model, serial', 'works at'];
  const headings = [...first, 'certificate', 'states', 'valid until', ''];
  const columns = headings.map((heading) => ({ heading, align: 'left' as const }));
  const rows = dueList(entries, nowMilliseconds).map(({ entry, kept, standing }) => [
    entry.instrument,
    entry.kind,
    `${entry.maker}, ${entry.model}, ${entry.serial}`,
    entry.placed === null ? '–' : `${entry.placed.rig}: ${placeInWords(entry.placed.at)}`,
    kept?.certificate.number ?? '–',
    kept === null ? '–' : certificateInWords(kept.certificate),
    kept?.certificate.validUntil ?? '–',
    standingWords[standing],
  ]);
  const gone = entries.filter(({ retired }) => retired !== null).map(({ instrument }) => instrument);
  return [formatTable(columns, rows), ...(gone.length === 0 ? [] : ['', `Retired: ${gone.join(', ')}.`])].join('\n');
}

/** Every record of an instrument, one line each. */
export function historyText(records: readonly RegisterRecord[]): string {
  const columns = ['record', 'on', 'by', 'what'].map((heading, index) => ({
    heading,
    align: index === 0 ? ('right' as const) : ('left' as const),
  }));
  const rows = records.map((record) => [
    String(record.number),
    record.at.slice(0, 10),
    record.person,
    recordInWords(record),
  ]);
  return formatTable(columns, rows);
}

function recordInWords({ entry }: RegisterRecord): string {
  switch (entry.entry) {
    case 'instrument':
      return `${entry.kind}: ${entry.maker}, ${entry.model}, serial ${entry.serial}`;
    case 'retired':
      return `retired: ${entry.reason}`;
    case 'withdrawn':
      return `certificate of record ${entry.record} withdrawn: ${entry.reason}`;
    case 'placed':
      return entry.at === null || entry.rig === null ? 'in no rig' : `in ${entry.rig}, ${placeInWords(entry.at)}`;
    case 'certificate': {
      const { file, issuedOn, issuer, number, validUntil } = entry.certificate;
      const attached = file === undefined ? '' : `; file ${file.name}, SHA-256 ${file.digest}`;
      const days = `issued ${issuedOn}, valid until ${validUntil}`;
      return `certificate ${number} of ${issuer}: ${certificateInWords(entry.certificate)}; ${days}${attached}`;
    }
  }
}

/** `linearity 1.004, U 0.02 (k 2, 95.45 %)` */
function certificateInWords(certificate: Certificate): string {
  const { coverageFactor, coveragePercent, expandedUncertainty, quantity, unit, value } = certificate;
  const of = unit === '1' ? '' : ` ${unit}`;
  const coverage = coveragePercent === undefined ? '' : `, ${coveragePercent} %`;
  return `${quantity} ${value}${of}, U ${expandedUncertainty}${of} (k ${coverageFactor}${coverage})`;
}
