import { shownText, wireRows } from '../../bridge/wire-rows.ts';
import { significant } from '../../model/number-text.ts';
import { toSeconds } from '../../model/time.ts';
import type { Capture, CaptureEntry } from '../wire/capture-file.ts';
import type { PlayedCapture, StreamRhythm } from '../wire/play-capture.ts';
import { formatTable } from './table.ts';

/** Bytes of a row: with text and hexadecimal digits beside each other it has 132 columns. */
const perRow = 28;
const atText = (atMicroseconds: number): string => toSeconds(atMicroseconds).toFixed(6).padStart(12);

/** One entry as rows. A problem says so in capitals; nothing depends on colour. */
export function entryText(entry: CaptureEntry): string[] {
  if (entry.entry === 'missed') return [`${' '.repeat(12)}  ${lostText(entry.missed)}`];
  return wireRows(entry, perRow).map((row) => {
    if (row.row === 'problem') {
      const bytes = row.byteCount === 0 ? '' : ` (${row.byteCount} bytes)`;
      return `${atText(row.atMicroseconds)}  PROBLEM ${row.code}: ${shownText(row.detail)}${bytes}`;
    }
    const at = row.continued ? ' '.repeat(12) : atText(row.atMicroseconds);
    const direction = row.continued ? '   ' : row.direction.padEnd(3);
    return `${at}  ${direction}  ${row.text.padEnd(perRow)}  ${row.hex}`;
  });
}

/** What a capture is and how it ended. */
export function headText({ end, header, missed, tornBytes, durationMicroseconds }: Capture): string[] {
  const { connection, guarded, instrument: of, program, rig, startedAt, virtual } = header;
  const torn = tornBytes > 0 ? `; ${tornBytes} bytes of a torn line are left out` : '';
  const seconds = toSeconds(durationMicroseconds).toFixed(3);
  return [
    shownText(`${of.instrument}: ${of.kind} ${of.dialect}, rig ${rig}, ${connection ?? 'not connected'}`),
    shownText(`captured from ${startedAt} by Chamberside ${program}, ${seconds} s`),
    ...(virtual ? ['VIRTUAL: no bytes of a real instrument.'] : []),
    ...(guarded === true
      ? ['GUARDED: what the guard said and heard by itself is not here; what it dropped is listed as out.']
      : []),
    ...(missed > 0 ? [lostText(missed)] : []),
    shownText(end ?? '') || `CUT SHORT: it has no end${torn}.`,
  ];
}

/** @param missed how many, ≥ 1. */
export function lostText(missed: number): string {
  return `LOST: ${missed} reads, writes or problems were gone before the disk took them.`;
}

/** Bytes, problems, and the rhythm of each stream as the driver reads it. */
export function countsText({ entries }: Capture, played: PlayedCapture): string[] {
  const tally = (direction: 'in' | 'out'): string => {
    const isOwn = (entry: CaptureEntry): boolean => entry.entry === 'bytes' && entry.direction === direction;
    const own = entries.flatMap((entry) => (entry.entry === 'bytes' && isOwn(entry) ? [entry.hex] : []));
    const bytes = own.reduce((sum, hex) => sum + hex.length / 2, 0);
    return `${direction}: ${bytes} bytes in ${own.length} ${direction === 'in' ? 'reads' : 'writes'}`;
  };
  const then = countByCode(entries.flatMap((entry) => (entry.entry === 'problem' ? [entry.code] : [])));
  const now = countByCode(played.problems.map(({ code }) => code));
  const right = ['readings', 'per s', 'interval s', 'jitter s', 'longest s'];
  const columns = [
    { heading: 'stream', align: 'left' as const },
    ...right.map((heading) => ({ heading, align: 'right' as const })),
  ];
  return [
    `${tally('in')}; ${tally('out')}`,
    `problems in the capture: ${then}`,
    `problems that the driver makes of it now: ${now}`,
    ...(played.rhythms.length === 0
      ? ['The driver makes no reading of it.']
      : [formatTable(columns, played.rhythms.map(rhythmRow))]),
  ];
}

/** What the driver reads: one line each, with problems between. */
export function decodedText({ confirmed, problems, readings }: PlayedCapture): string[] {
  const mark = (edge: boolean): string => (edge ? '  (first of a conversation: its line may be cut)' : '');
  const lines = [
    ...readings.map(({ atMicroseconds, edge, stream, value }) => ({
      atMicroseconds,
      text: `${stream} ${value}${mark(edge)}`,
    })),
    ...confirmed.map(({ atMicroseconds, port }) => ({ atMicroseconds, text: `port ${port} confirmed` })),
    ...problems.map(({ atMicroseconds, byteCount, code, detail, edge }) => ({
      atMicroseconds,
      text: `PROBLEM ${code}: ${shownText(detail)}${byteCount === 0 ? '' : ` (${byteCount} bytes)`}${mark(edge)}`,
    })),
  ];
  lines.sort((one, other) => one.atMicroseconds - other.atMicroseconds);
  return lines.map(({ atMicroseconds, text }) => `${atText(atMicroseconds)}  ${text}`);
}

function rhythmRow({ intervals, perSecond, readings, stream }: StreamRhythm): string[] {
  const seconds = (value: number | undefined): string => (value === undefined ? '–' : significant(value, 3));
  return [
    stream,
    String(readings),
    perSecond === null ? '–' : significant(perSecond, 4),
    seconds(intervals?.meanSeconds),
    seconds(intervals?.jitterSeconds),
    seconds(intervals?.longestSeconds),
  ];
}

function countByCode(codes: readonly string[]): string {
  const counts = new Map<string, number>();
  for (const code of codes) counts.set(code, (counts.get(code) ?? 0) + 1);
  return counts.size === 0 ? 'none' : [...counts].map(([code, count]) => `${count} ${code}`).join(', ');
}
