import { toSeconds } from '../model/time.ts';
import type { LeftOut } from './left-out.ts';

/** From when to when, on which time, and of which probes, in words: `612.5 to 618 s, time of arrival, at chest`. */
export function stretchInWords({ fromMicroseconds, probe, time, toMicroseconds }: LeftOut): string {
  const on = time === 'arrival' ? 'time of arrival' : 'when the air left the probe';
  const where = probe === null ? 'every dwell' : `dwells at ${probe}`;
  return `${toSeconds(fromMicroseconds)} to ${toSeconds(toMicroseconds)} s, ${on}, ${where}`;
}

/** What a stretch took: `40 readings of dwell 17`. */
export function takenInWords({ dwells, readings }: { readonly dwells: readonly number[]; readonly readings: number }) {
  if (dwells.length === 0) return 'nothing of a window';
  const of = dwells.length === 1 ? `dwell ${dwells[0] ?? ''}` : `dwells ${dwells.join(', ')}`;
  return `${readings} readings of ${of}`;
}
