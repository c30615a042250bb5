import type { StreamRing } from './stream-ring.ts';

/** Receives the points of a line in order of time; `begin` lifts the pen first. */
export interface Pen {
  begin(microseconds: number, place: number): void;
  on(microseconds: number, place: number): void;
}

/**
 * Hands on what of a line can be told apart on a screen: of the readings within one column of it the first, the
 * lowest, the highest and the last, in order of time. Columns stand in time, not on the screen, so that a picture that
 * moves on does not flicker. The pen is lifted where nothing was read, and at readings that have no place.
 *
 * @param options.from and `to` of the line, µs; both ends belong to it.
 * @param options.columnMicroseconds width of a column.
 * @param options.silenceMicroseconds a longer pause between readings lifts the pen.
 * @param options.placeOf place of a reading's value; null when it has none.
 * @returns time of the newest reading with a place, µs; minus infinity when there is none.
 */
export function plot(
  ring: StreamRing,
  options: {
    readonly from: number;
    readonly to: number;
    readonly columnMicroseconds: number;
    readonly silenceMicroseconds: number;
    readonly placeOf: (value: number) => number | null;
  },
  pen: Pen,
): number {
  const { to, columnMicroseconds, silenceMicroseconds, placeOf } = options;
  let lifted = true;
  let before = Number.NEGATIVE_INFINITY;
  let newest = Number.NEGATIVE_INFINITY;
  let column = Number.NaN;
  // The column that is gathered: times and places of its first, lowest, highest and last reading.
  let [firstAt, first, lowAt, low, highAt, high, lastAt, last] = [0, 0, 0, 0, 0, 0, 0, 0];

  const put = (at: number, place: number): void => {
    if (lifted) pen.begin(at, place);
    else pen.on(at, place);
    lifted = false;
  };
  const handOn = (): void => {
    if (Number.isNaN(column)) return;
    column = Number.NaN;
    put(firstAt, first);
    const [earlyAt, early, lateAt, late] = lowAt < highAt ? [lowAt, low, highAt, high] : [highAt, high, lowAt, low];
    if (earlyAt > firstAt && earlyAt < lastAt) put(earlyAt, early);
    if (lateAt > Math.max(firstAt, earlyAt) && lateAt < lastAt) put(lateAt, late);
    if (lastAt > firstAt) put(lastAt, last);
  };

  for (let index = ring.indexFrom(options.from); index < ring.length; index += 1) {
    const at = ring.timeAt(index);
    if (at > to) break;
    const place = placeOf(ring.valueAt(index));
    if (place === null || at - before > silenceMicroseconds) {
      handOn();
      lifted = true;
    }
    before = at;
    if (place === null) continue;
    newest = at;
    const its = Math.floor(at / columnMicroseconds);
    if (its !== column) {
      handOn();
      column = its;
      firstAt = lowAt = highAt = at;
      first = low = high = place;
    } else if (place < low) {
      lowAt = at;
      low = place;
    } else if (place > high) {
      highAt = at;
      high = place;
    }
    lastAt = at;
    last = place;
  }
  handOn();
  return newest;
}
