import type { ThinnedSamples } from './thin.ts';

const blockSamples = 1024;

interface Block {
  readonly times: Float64Array;
  readonly values: Float64Array;
  count: number;
}

/** The newest samples of one stream, in memory. Bounded by time and by number. */
export interface SampleRing {
  /** Samples ever pushed: the number of the next one. */
  readonly total: number;
  /** Number of the oldest one that is still there. */
  readonly first: number;
  /** Time of the oldest one that is still there; null when empty. */
  readonly oldestMicroseconds: number | null;
  /** Time and value of the newest; null when empty. */
  readonly newest: { readonly atMicroseconds: number; readonly value: number } | null;
  /** Times must not descend; one that does counts as equal to the one before. */
  push(atMicroseconds: number, value: number): void;
  /** Copies of samples by number, [from, to), as far as they are there. */
  numbered(from: number, to: number): ThinnedSamples;
  /** Copies of samples by time, [from, to), as far as they are there. */
  between(fromMicroseconds: number, toMicroseconds: number): ThinnedSamples;
  /** Number of the first sample at or after this time; `total` when there is none. */
  numberAt(atMicroseconds: number): number;
}

/**
 * @param keepMicroseconds whole blocks older than this are let go, when there are newer ones.
 * @param mostSamples never more than this many, rounded up to whole blocks of 1024.
 */
export function createSampleRing(keepMicroseconds: number, mostSamples = 150_000): SampleRing {
  const blocks: Block[] = [];
  const mostBlocks = Math.max(2, Math.ceil(mostSamples / blockSamples));
  let first = 0;
  let total = 0;
  let latest = Number.NEGATIVE_INFINITY;

  const blockAt = (number: number): { readonly block: Block; readonly index: number } | undefined => {
    const offset = number - first;
    const block = blocks[Math.floor(offset / blockSamples)];
    return block === undefined ? undefined : { block, index: offset % blockSamples };
  };
  const timeAt = (number: number): number => {
    const found = blockAt(number);
    return found === undefined ? Number.NaN : (found.block.times[found.index] as number);
  };
  const numberAt = (atMicroseconds: number): number => {
    let low = first;
    let high = total;
    while (low < high) {
      const middle = low + Math.floor((high - low) / 2);
      if (timeAt(middle) < atMicroseconds) low = middle + 1;
      else high = middle;
    }
    return low;
  };
  const numbered = (from: number, to: number): ThinnedSamples => {
    const begin = Math.max(from, first);
    const end = Math.max(begin, Math.min(to, total));
    const times = new Float64Array(end - begin);
    const values = new Float64Array(end - begin);
    for (let number = begin; number < end; ) {
      const found = blockAt(number);
      if (found === undefined) break;
      const taken = Math.min(found.block.count - found.index, end - number);
      times.set(found.block.times.subarray(found.index, found.index + taken), number - begin);
      values.set(found.block.values.subarray(found.index, found.index + taken), number - begin);
      number += taken;
    }
    return { times, values };
  };

  return {
    get total() {
      return total;
    },
    get first() {
      return first;
    },
    get oldestMicroseconds() {
      return total === first ? null : timeAt(first);
    },
    get newest() {
      const block = blocks.at(-1);
      if (block === undefined) return null;
      return {
        atMicroseconds: block.times[block.count - 1] as number,
        value: block.values[block.count - 1] as number,
      };
    },
    push(atMicroseconds, value) {
      let block = blocks.at(-1);
      if (block === undefined || block.count === blockSamples) {
        block = { times: new Float64Array(blockSamples), values: new Float64Array(blockSamples), count: 0 };
        blocks.push(block);
      }
      latest = Math.max(latest, atMicroseconds);
      block.times[block.count] = latest;
      block.values[block.count] = value;
      block.count += 1;
      total += 1;
      for (let oldest = blocks[0]; oldest !== undefined && blocks.length > 1; oldest = blocks[0]) {
        const newestOfOldest = oldest.times[oldest.count - 1] as number;
        if (blocks.length <= mostBlocks && newestOfOldest >= latest - keepMicroseconds) break;
        blocks.shift();
        first += oldest.count;
      }
    },
    numbered,
    between: (fromMicroseconds, toMicroseconds) => numbered(numberAt(fromMicroseconds), numberAt(toMicroseconds)),
    numberAt,
  };
}
