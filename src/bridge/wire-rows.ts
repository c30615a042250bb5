import type { WireEntry } from './wire.ts';

/** How bytes on a wire are written for people: by the command line and by the window alike. */

/** A row of a listing. The parts of one read or write that does not fit into a row follow each other. */
export type WireRow =
  | {
      readonly row: 'bytes';
      readonly number: number;
      readonly atMicroseconds: number;
      readonly direction: 'in' | 'out';
      /** Not the first part of its read or write. */
      readonly continued: boolean;
      /** `conc 0.00873␍␊`: one character a byte, what has no shape as its picture. */
      readonly text: string;
      /** `63 6f 6e`. */
      readonly hex: string;
    }
  | {
      readonly row: 'problem';
      readonly number: number;
      readonly atMicroseconds: number;
      readonly code: string;
      readonly detail: string;
      readonly byteCount: number;
    };

const lineFeed = 0x0a;

/** One byte as one character: as it is where it can be seen, else the picture of its control code, else a dot. */
export function shownByte(byte: number): string {
  if (byte < 0x20) return String.fromCharCode(0x2400 + byte);
  if (byte === 0x7f) return '␡';
  // Latin-1 has shapes from 0xa1 on; the soft hyphen shows none.
  return byte < 0x7f || (byte > 0xa0 && byte !== 0xad) ? String.fromCharCode(byte) : '·';
}

/** Words that hold bytes from a wire or a file, for a terminal: no control code reaches it. */
export function shownText(text: string): string {
  return text.replaceAll(/[\u0000-\u001f\u007f-\u00a0\u00ad]/g, (one) => shownByte(one.charCodeAt(0)));
}

/** @param perRow most bytes of a row, ≥ 1; a row also ends behind a line feed. */
export function wireRows(entry: WireEntry, perRow: number): WireRow[] {
  const { atMicroseconds, number } = entry;
  if (entry.entry === 'problem') {
    const { byteCount, code, detail } = entry;
    return [{ row: 'problem', number, atMicroseconds, code, detail, byteCount }];
  }
  const rows: WireRow[] = [];
  let text = '';
  let hex = '';
  let inRow = 0;
  const { direction, hex: all } = entry;
  for (let at = 0; at < all.length; at += 2) {
    const pair = all.slice(at, at + 2);
    const byte = Number.parseInt(pair, 16);
    text += shownByte(byte);
    hex += inRow === 0 ? pair : ` ${pair}`;
    inRow += 1;
    if (inRow < perRow && byte !== lineFeed && at + 2 < all.length) continue;
    rows.push({ row: 'bytes', number, atMicroseconds, direction, continued: rows.length > 0, text, hex });
    text = '';
    hex = '';
    inRow = 0;
  }
  return rows;
}
