/** Readings of one stream, newest kept, in order of time, outside React. Times in µs of the channel. */
export interface StreamRing {
  readonly length: number;
  /** Time of the newest reading, µs; null when there is none. */
  readonly newestMicroseconds: number | null;
  readonly newestValue: number | null;
  /** Increases with every change. */
  readonly revision: number;
  /** Takes in readings; those older than what it holds are merged in, doubles of a time are left out. */
  add(times: Float64Array, values: Float64Array): void;
  clear(): void;
  /** Index of the first reading at or after a time; `length` when there is none. */
  indexFrom(microseconds: number): number;
  timeAt(index: number): number;
  valueAt(index: number): number;
}

/** @param capacity readings that are kept at the most; the oldest give way. */
export function createStreamRing(capacity: number): StreamRing {
  let times = new Float64Array(0);
  let values = new Float64Array(0);
  // Readings lie in [begin, end); both arrays have room behind, and are packed to the front when it runs out.
  let begin = 0;
  let end = 0;
  let revision = 0;

  const makeRoom = (count: number): void => {
    if (end + count <= times.length) return;
    const length = end - begin;
    const size = Math.max(1024, Math.min(2 * capacity, 2 * (length + count)), length + count);
    const newTimes = size > times.length ? new Float64Array(size) : times;
    const newValues = size > values.length ? new Float64Array(size) : values;
    newTimes.set(times.subarray(begin, end));
    newValues.set(values.subarray(begin, end));
    times = newTimes;
    values = newValues;
    begin = 0;
    end = length;
  };

  const append = (moreTimes: Float64Array, moreValues: Float64Array): void => {
    const skipped = Math.max(0, moreTimes.length - capacity);
    const count = moreTimes.length - skipped;
    begin = Math.max(begin, Math.min(end, end + count - capacity));
    makeRoom(count);
    times.set(moreTimes.subarray(skipped), end);
    values.set(moreValues.subarray(skipped), end);
    end += count;
  };

  const indexFrom = (microseconds: number): number => {
    let low = begin;
    let high = end;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((times[middle] ?? 0) < microseconds) low = middle + 1;
      else high = middle;
    }
    return low - begin;
  };

  const merge = (moreTimes: Float64Array, moreValues: Float64Array): void => {
    const first = indexFrom(moreTimes[0] ?? 0) + begin;
    const tailTimes = times.slice(first, end);
    const tailValues = values.slice(first, end);
    const mergedTimes = new Float64Array(tailTimes.length + moreTimes.length);
    const mergedValues = new Float64Array(mergedTimes.length);
    let count = 0;
    for (let old = 0, add = 0; old < tailTimes.length || add < moreTimes.length;) {
      const oldTime = tailTimes[old] ?? Number.POSITIVE_INFINITY;
      const addTime = moreTimes[add] ?? Number.POSITIVE_INFINITY;
      const fromOld = oldTime <= addTime;
      mergedTimes[count] = fromOld ? oldTime : addTime;
      mergedValues[count] = (fromOld ? tailValues[old] : moreValues[add]) ?? Number.NaN;
      count += 1;
      if (oldTime === addTime) add += 1;
      if (fromOld) old += 1;
      else add += 1;
    }
    end = first;
    append(mergedTimes.subarray(0, count), mergedValues.subarray(0, count));
  };

  return {
    get length() {
      return end - begin;
    },
    get newestMicroseconds() {
      return end > begin ? (times[end - 1] ?? null) : null;
    },
    get newestValue() {
      return end > begin ? (values[end - 1] ?? null) : null;
    },
    get revision() {
      return revision;
    },
    add(moreTimes, moreValues) {
      if (moreTimes.length === 0) return;
      revision += 1;
      const newest = end > begin ? (times[end - 1] ?? 0) : Number.NEGATIVE_INFINITY;
      if ((moreTimes[0] ?? 0) > newest) append(moreTimes, moreValues);
      else merge(moreTimes, moreValues);
    },
    clear() {
      begin = 0;
      end = 0;
      revision += 1;
    },
    indexFrom,
    timeAt: (index) => times[begin + index] ?? Number.NaN,
    valueAt: (index) => values[begin + index] ?? Number.NaN,
  };
}
