import { wireRows } from '../../../src/bridge/wire-rows.ts';
import type { WireRow } from '../../../src/bridge/wire-rows.ts';
import type { WireEntry, WireView } from '../../../src/bridge/wire.ts';

/** A row of the list. */
export type WireLine =
  | (WireRow & {
      /** Counts all rows of this window: what a row is called by. */
      readonly key: number;
      /** Since the read or write before in the same direction, µs; null for the first, and for its further parts. */
      readonly sinceMicroseconds: number | null;
    })
  | { readonly row: 'missed'; readonly key: number; readonly count: number };

/** Rows that a window keeps: at 100 lines a second, nearly a minute. */
export const mostLines = 5_000;

/** The rows of one instrument's wire, newest at the end, and nothing of React. */
export interface WireLines {
  readonly lines: readonly WireLine[];
  /** Number of the newest entry; null before the first answer. */
  readonly after: number | null;
  /** @returns whether there is anything new. */
  add(view: Pick<WireView, 'entries' | 'missed'>, perRow: number): boolean;
}

export function createWireLines(): WireLines {
  let lines: WireLine[] = [];
  let count = 0;
  let after: number | null = null;
  let before: { in: number | null; out: number | null } = { in: null, out: null };

  const put = (entry: WireEntry, missedBefore: number, perRow: number): void => {
    if (missedBefore > 0) {
      count += 1;
      lines.push({ row: 'missed', key: count, count: missedBefore });
      before = { in: null, out: null };
    }
    const last = entry.entry === 'bytes' ? before[entry.direction] : null;
    for (const row of wireRows(entry, perRow)) {
      count += 1;
      const first = row.row === 'bytes' && !row.continued && last !== null;
      lines.push({ ...row, key: count, sinceMicroseconds: first ? row.atMicroseconds - last : null });
    }
    if (entry.entry === 'bytes') before[entry.direction] = entry.atMicroseconds;
  };

  return {
    get lines() {
      return lines;
    },
    get after() {
      return after;
    },
    add(view, perRow) {
      after ??= 0;
      if (view.entries.length === 0) return false;
      // A list of its own each time: the one that is shown stays as it is.
      lines = lines.slice();
      let missed = view.missed;
      for (const entry of view.entries) {
        put(entry, missed, perRow);
        missed = 0;
        after = entry.number;
      }
      if (lines.length > mostLines) lines = lines.slice(-mostLines);
      return true;
    },
  };
}
