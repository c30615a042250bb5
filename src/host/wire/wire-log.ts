import type { WireCounts, WireEntry } from '../../bridge/wire.ts';
import type { Problem, ProblemCode } from '../../model/reading.ts';
import { microsecondsPerSecond, toSeconds } from '../../model/time.ts';
import type { WireWatch } from '../acquisition/wire-watch.ts';

/** Most that is kept of one instrument. All of it is taken at once, so that nothing is allocated while it measures. */
export const keptBytes = 256 * 1024;
export const keptChunks = 4096;
export const keptProblems = 512;
/** Arrivals of frames from which rate and jitter come. */
const keptArrivals = 1024;
const lookBackMicroseconds = 10 * microsecondsPerSecond;

export interface WireEntries {
  /** In the order in which it happened. */
  readonly entries: readonly WireEntry[];
  /** Entries between the one asked for and the last of these, or the newest with nothing more, that are gone. */
  readonly missed: number;
  readonly more: boolean;
}

/** The last of what went over the wire of one instrument, and counts of all of it. */
export interface WireLog extends WireWatch {
  /** Number of the newest entry; 0 before the first. */
  readonly newest: number;
  /** @param after number of the entry that was seen last. @param most entries, ≥ 1; about 64 kB of bytes besides. */
  read(after: number, most: number): WireEntries;
  counts(nowMicroseconds: number): WireCounts;
}

const mostReadBytes = 64 * 1024;

/** Rings of fixed size: what is added costs one copy of its bytes and never grows. */
export function createWireLog(): WireLog {
  const data = new Uint8Array(keptBytes);
  /** All that was ever written to `data`; a place in it is this modulo its length. */
  let written = 0;
  const chunkAt = new Float64Array(keptChunks);
  const chunkStart = new Float64Array(keptChunks);
  const chunkNumber = new Float64Array(keptChunks);
  const chunkLength = new Uint32Array(keptChunks);
  const chunkOut = new Uint8Array(keptChunks);
  let chunks = 0;
  let oldestChunk = 0;
  const problems: { readonly number: number; readonly problem: Problem }[] = [];
  let problemCount = 0;
  const arrivals = new Float64Array(keptArrivals);
  let frames = 0;
  let inLines = false;
  let newest = 0;
  let receivedBytes = 0;
  let sentBytes = 0;
  const byCode = new Map<ProblemCode, { count: number; byteCount: number }>();

  const keep = (direction: 'in' | 'out', atMicroseconds: number, bytes: Uint8Array): void => {
    const { length } = bytes;
    const place = written % keptBytes;
    const first = Math.min(length, keptBytes - place);
    if (first === length) data.set(bytes, place);
    else {
      data.set(bytes.subarray(0, first), place);
      data.set(bytes.subarray(first), 0);
    }
    const slot = chunks % keptChunks;
    newest += 1;
    chunkAt[slot] = atMicroseconds;
    chunkStart[slot] = written;
    chunkNumber[slot] = newest;
    chunkLength[slot] = length;
    chunkOut[slot] = direction === 'out' ? 1 : 0;
    written += length;
    chunks += 1;
    if (chunks - oldestChunk > keptChunks) oldestChunk = chunks - keptChunks;
    while ((chunkStart[oldestChunk % keptChunks] as number) < written - keptBytes) oldestChunk += 1;
  };

  const frame = (atMicroseconds: number): void => {
    arrivals[frames % keptArrivals] = atMicroseconds;
    frames += 1;
  };

  const bytesOf = (chunk: number): Buffer => {
    const slot = chunk % keptChunks;
    const place = (chunkStart[slot] as number) % keptBytes;
    const length = chunkLength[slot] as number;
    const first = Math.min(length, keptBytes - place);
    const head = Buffer.from(data.buffer, place, first);
    return first === length ? head : Buffer.concat([head, Buffer.from(data.buffer, 0, length - first)]);
  };

  /** First chunk that is kept and came after the entry of this number. */
  const chunkAfter = (number: number): number => {
    let low = oldestChunk;
    let high = chunks;
    while (low < high) {
      const middle = Math.floor((low + high) / 2);
      if ((chunkNumber[middle % keptChunks] as number) <= number) low = middle + 1;
      else high = middle;
    }
    return low;
  };

  return {
    get newest() {
      return newest;
    },
    chunk(direction, atMicroseconds, bytes) {
      if (direction === 'in') receivedBytes += bytes.length;
      else sentBytes += bytes.length;
      if (bytes.length <= mostReadBytes) keep(direction, atMicroseconds, bytes);
      else {
        for (let at = 0; at < bytes.length; at += mostReadBytes) {
          keep(direction, atMicroseconds, bytes.subarray(at, at + mostReadBytes));
        }
      }
    },
    speaksInLines() {
      inLines = true;
    },
    line: frame,
    delivered(atMicroseconds) {
      // Several values of one answer come at one moment.
      if (inLines || (frames > 0 && arrivals[(frames - 1) % keptArrivals] === atMicroseconds)) return;
      frame(atMicroseconds);
    },
    problem(problem) {
      newest += 1;
      problems[problemCount % keptProblems] = { number: newest, problem };
      problemCount += 1;
      const tally = byCode.get(problem.code);
      if (tally === undefined) byCode.set(problem.code, { count: 1, byteCount: problem.byteCount });
      else {
        tally.count += 1;
        tally.byteCount += problem.byteCount;
      }
    },
    read(after, most) {
      const entries: WireEntry[] = [];
      let chunk = chunkAfter(after);
      let next = Math.max(0, problemCount - keptProblems);
      while (next < problemCount && (problems[next % keptProblems]?.number ?? 0) <= after) next += 1;
      let bytes = 0;
      while (entries.length < most && bytes < mostReadBytes) {
        const number = chunk < chunks ? (chunkNumber[chunk % keptChunks] as number) : Infinity;
        const problem = next < problemCount ? problems[next % keptProblems] : undefined;
        if (problem !== undefined && problem.number < number) {
          const { atMicroseconds, byteCount, code, detail } = problem.problem;
          entries.push({ entry: 'problem', number: problem.number, atMicroseconds, code, detail, byteCount });
          next += 1;
        } else if (number < Infinity) {
          const slot = chunk % keptChunks;
          const own = bytesOf(chunk);
          bytes += own.length;
          entries.push({
            entry: 'bytes',
            number,
            atMicroseconds: chunkAt[slot] as number,
            direction: chunkOut[slot] === 1 ? 'out' : 'in',
            hex: own.toString('hex'),
          });
          chunk += 1;
        } else break;
      }
      const more = chunk < chunks || next < problemCount;
      // Only up to where this answer reaches: what is gone behind it belongs to the next one.
      const reached = more ? (entries.at(-1)?.number ?? after) : newest;
      return { entries, missed: Math.max(0, reached - after - entries.length), more };
    },
    counts(nowMicroseconds) {
      const since = nowMicroseconds - lookBackMicroseconds;
      const seen: number[] = [];
      for (let at = frames - 1; at >= Math.max(0, frames - keptArrivals); at -= 1) {
        const arrival = arrivals[at % keptArrivals] as number;
        if (arrival < since) break;
        seen.push(arrival);
      }
      let received = 0;
      let firstChunk = chunks;
      while (firstChunk > oldestChunk && (chunkAt[(firstChunk - 1) % keptChunks] as number) >= since) {
        firstChunk -= 1;
        if (chunkOut[firstChunk % keptChunks] === 0) received += chunkLength[firstChunk % keptChunks] as number;
      }
      // Where the rings reach less far back than the ten seconds, that far.
      const chunkSpan =
        firstChunk === oldestChunk && firstChunk < chunks
          ? nowMicroseconds - (chunkAt[firstChunk % keptChunks] as number)
          : lookBackMicroseconds;
      return {
        receivedBytes,
        sentBytes,
        frames,
        problems: [...byCode].map(([code, tally]) => ({ code, ...tally })),
        framesPerSecond: perSecond(seen, nowMicroseconds),
        receivedBytesPerSecond: chunkSpan > 0 ? received / toSeconds(chunkSpan) : 0,
        intervals: intervalsOf(seen, nowMicroseconds),
      };
    },
  };
}

/** Longest interval between arrivals, µs. @param seen arrivals, newest first, µs. */
function longestOf(seen: readonly number[]): number {
  let longest = 0;
  for (let index = 1; index < seen.length; index += 1) {
    longest = Math.max(longest, (seen[index - 1] as number) - (seen[index] as number));
  }
  return longest;
}

/**
 * The time since the last arrival counts once it is longer than any interval before it; until then the next one is only
 * not due yet, and counting it would show a little less than there is.
 * @param seen arrivals, newest first, µs.
 */
function perSecond(seen: readonly number[], nowMicroseconds: number): number {
  const newest = seen[0] ?? nowMicroseconds;
  const waited = nowMicroseconds - newest;
  const span = newest - (seen.at(-1) ?? newest) + (waited > longestOf(seen) ? waited : 0);
  return span > 0 ? (seen.length - 1) / toSeconds(span) : 0;
}

/**
 * Mean and jitter of what came; the longest also of the wait that is not over.
 * @param seen arrivals, newest first, µs.
 */
function intervalsOf(seen: readonly number[], nowMicroseconds: number): WireCounts['intervals'] {
  const count = seen.length - 1;
  if (count < 2) return null;
  const mean = ((seen[0] as number) - (seen[count] as number)) / count;
  let squares = 0;
  for (let index = 0; index < count; index += 1) {
    const interval = (seen[index] as number) - (seen[index + 1] as number);
    squares += (interval - mean) ** 2;
  }
  const longest = Math.max(longestOf(seen), nowMicroseconds - (seen[0] as number));
  return {
    count,
    meanSeconds: toSeconds(mean),
    jitterSeconds: toSeconds(Math.sqrt(squares / (count - 1))),
    longestSeconds: toSeconds(longest),
  };
}
