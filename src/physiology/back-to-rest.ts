import { summarizeHeart } from './heart-rate.ts';
import type { HeartRecord } from './heart-rate.ts';

/**
 * One minute after the effort the rate should be at or below this, a minute. An older edition of the common texts on
 * heat strain, from memory; the current one says 120, from memory; one site's rule is 100. The responsible person comes
 * first.
 */
export const recoveredPerMinute = 110;

/** Later than this after the effort a rate that is back is told with its time, and is no recovery in a minute. s */
const judgedSeconds = 65;

export interface BackToRest {
  /** `waiting`: the minute is not over. `unread`: no reading tells. */
  readonly state: 'waiting' | 'back' | 'not-back' | 'unread';
  /** Mean around one minute after the effort, a minute; null until then, or unread. */
  readonly afterOneMinute: number | null;
  /** First reading at or below the limit, s after the effort; null: none yet. */
  readonly backAfterSeconds: number | null;
}

/**
 * How the heart rate came back after an effort.
 * @param record of the belt, trial time in seconds. @param endSeconds of the last effort. @param nowSeconds when it is
 * judged.
 */
export function backToRest(record: HeartRecord, endSeconds: number, nowSeconds: number): BackToRest {
  let backAfterSeconds: number | null = null;
  for (const [index, second] of record.seconds.entries()) {
    const rate = record.perMinute[index] ?? Number.NaN;
    if (second < endSeconds || !(rate >= 30 && rate <= recoveredPerMinute)) continue;
    backAfterSeconds = second - endSeconds;
    break;
  }
  if (nowSeconds < endSeconds + judgedSeconds) return { state: 'waiting', afterOneMinute: null, backAfterSeconds };
  try {
    // Alone, and not as a drop: that the effort's end was not read says nothing of the minute after it.
    const { mean: afterOneMinute } = summarizeHeart(record, endSeconds + 55, endSeconds + 65);
    const state = afterOneMinute <= recoveredPerMinute ? 'back' : 'not-back';
    return { state, afterOneMinute, backAfterSeconds };
  } catch {
    return { state: 'unread', afterOneMinute: null, backAfterSeconds };
  }
}

/** The same in words, with the limit. */
export function backToRestInWords({ afterOneMinute, backAfterSeconds, state }: BackToRest): string {
  const limit = `limit ${recoveredPerMinute} /min one minute after the effort`;
  const after = Math.round(backAfterSeconds ?? 0);
  const later = backAfterSeconds === null ? 'not at or below it yet' : `first at or below it after ${after} s`;
  switch (state) {
    case 'waiting':
      return `Heart rate is watched (${limit})`;
    case 'unread':
      return `No heart rate was read one minute after the effort; ${later} (${limit})`;
    case 'back':
      return `Heart rate ${Math.round(afterOneMinute ?? 0)} /min (${limit}): back`;
    case 'not-back':
      return `Heart rate ${Math.round(afterOneMinute ?? 0)} /min (${limit}): not back; ${later}`;
  }
}
