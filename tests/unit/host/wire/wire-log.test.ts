import { describe, expect, it } from 'vitest';
import { textToBytes } from '../../../../src/model/bytes.ts';
import type { Problem } from '../../../../src/model/reading.ts';
import { createWireLog, keptBytes, keptChunks, keptProblems } from '../../../../src/host/wire/wire-log.ts';

const second = 1_000_000;
const problem = (code: Problem['code'], byteCount: number, atMicroseconds = 0): Problem => ({
  instrument: 'photometer',
  atMicroseconds,
  code,
  detail: 'made up',
  byteCount,
});
const textOf = (hex: string): string => Buffer.from(hex, 'hex').toString('latin1');

describe('the log of a wire', () => {
  it('gives bytes and problems in the order in which they came, once each', () => {
    const log = createWireLog();
    log.chunk('out', 1, textToBytes('CONC?\r'));
    log.chunk('in', 2, textToBytes('what\r\n'));
    log.problem(problem('line-undecodable', 6, 2));
    log.chunk('in', 3, Uint8Array.of(0, 255));
    const first = log.read(0, 2);
    expect(first.more).toBe(true);
    const rest = log.read(first.entries.at(-1)?.number ?? 0, 10);
    expect(rest).toMatchObject({ more: false, missed: 0 });
    expect([...first.entries, ...rest.entries]).toEqual([
      { entry: 'bytes', number: 1, atMicroseconds: 1, direction: 'out', hex: '434f4e433f0d' },
      { entry: 'bytes', number: 2, atMicroseconds: 2, direction: 'in', hex: '776861740d0a' },
      { entry: 'problem', number: 3, atMicroseconds: 2, code: 'line-undecodable', detail: 'made up', byteCount: 6 },
      { entry: 'bytes', number: 4, atMicroseconds: 3, direction: 'in', hex: '00ff' },
    ]);
    expect(log.read(log.newest, 10).entries).toEqual([]);
  });

  it('keeps the newest under its limits, whole, and says how many it has lost', () => {
    const log = createWireLog();
    const lines = 3 * keptChunks;
    for (let line = 1; line <= lines; line += 1) log.chunk('in', line, textToBytes(`line ${line}\n`));
    const seen: string[] = [];
    let missed = 0;
    for (let after = 0; after < log.newest; ) {
      const read = log.read(after, 500);
      missed += read.missed;
      for (const entry of read.entries) seen.push(entry.entry === 'bytes' ? textOf(entry.hex) : '');
      after = read.entries.at(-1)?.number ?? after;
    }
    expect(missed).toBe(lines - keptChunks);
    expect(seen).toEqual(Array.from({ length: keptChunks }, (_, at) => `line ${lines - keptChunks + at + 1}\n`));
  });

  it('tells each loss once where both rings have overflowed and the answers are short', () => {
    const log = createWireLog();
    const lines = keptChunks + 700;
    for (let line = 1; line <= lines; line += 1) {
      log.chunk('in', line, textToBytes('garbled\n'));
      log.problem(problem('line-undecodable', 8, line));
    }
    let missed = 0;
    let seen = 0;
    for (let after = 0; after < log.newest; ) {
      const read = log.read(after, 500);
      const last = read.entries.at(-1)?.number ?? 0;
      expect(read.missed).toBe(last - after - read.entries.length);
      missed += read.missed;
      seen += read.entries.length;
      after = last;
    }
    expect(seen).toBe(keptChunks + keptProblems);
    expect(missed).toBe(2 * lines - keptChunks - keptProblems);
  });

  it('keeps no more bytes than its limit, across the seam of the ring', () => {
    const log = createWireLog();
    const length = 10_007;
    for (let chunk = 0; chunk < 60; chunk += 1) log.chunk('in', chunk, new Uint8Array(length).fill(chunk));
    let after = 0;
    let kept = 0;
    while (after < log.newest) {
      const { entries } = log.read(after, 500);
      for (const entry of entries) {
        if (entry.entry !== 'bytes') throw new RangeError('there were only bytes');
        expect(entry.hex).toBe((entry.number - 1).toString(16).padStart(2, '0').repeat(length));
        kept += length;
      }
      after = entries.at(-1)?.number ?? after;
    }
    expect(kept).toBe(Math.floor(keptBytes / length) * length);
  });

  it('takes a read larger than all that it keeps', () => {
    const log = createWireLog();
    log.chunk('in', 5, new Uint8Array(2 * keptBytes + 1));
    expect(log.counts(5).receivedBytes).toBe(2 * keptBytes + 1);
    expect(log.read(0, 500).missed).toBeGreaterThan(0);
    expect(log.read(log.newest - 1, 1).entries).toHaveLength(1);
  });

  it('counts every problem by its code, also those that it has forgotten', () => {
    const log = createWireLog();
    for (let count = 0; count < keptProblems + 100; count += 1) log.problem(problem('checksum-wrong', 3));
    log.problem(problem('silence', 0));
    expect(log.counts(0).problems).toEqual([
      { code: 'checksum-wrong', count: keptProblems + 100, byteCount: 3 * (keptProblems + 100) },
      { code: 'silence', count: 1, byteCount: 0 },
    ]);
    expect(log.read(0, 600)).toMatchObject({ missed: 101, more: false });
  });

  it('knows rate and jitter of lines that are early and late in turn', () => {
    const log = createWireLog();
    log.speaksInLines();
    // 50 ms apart on average, 4 ms early and late in turn: the intervals are 46 and 54 ms.
    for (let line = 0; line <= 200; line += 1) {
      const at = line * 50_000 + (line % 2 === 0 ? 4_000 : 0);
      log.chunk('in', at, textToBytes('0123456789'));
      log.line(at);
      log.delivered(at);
    }
    const counts = log.counts(200 * 50_000 + 4_000);
    expect(counts.frames).toBe(201);
    expect(counts.framesPerSecond).toBeCloseTo(20, 6);
    expect(counts.receivedBytesPerSecond).toBeCloseTo(201, 0);
    expect(counts.intervals?.meanSeconds).toBeCloseTo(0.05, 9);
    // Standard deviation of ±4 ms, n/(n-1) of 200.
    expect(counts.intervals?.jitterSeconds).toBeCloseTo(0.004 * Math.sqrt(200 / 199), 9);
    expect(counts.intervals?.longestSeconds).toBeCloseTo(0.054, 9);
    expect(log.counts(60 * second)).toMatchObject({ framesPerSecond: 0, receivedBytesPerSecond: 0, intervals: null });
  });

  it('shows that an instrument has died', () => {
    const log = createWireLog();
    log.speaksInLines();
    for (let line = 0; line <= 100; line += 1) log.line(line * 50_000);
    const died = 5 * second;
    // The next line is not due yet: the rate is that of the lines.
    expect(log.counts(died + 40_000).framesPerSecond).toBeCloseTo(20, 6);
    const { framesPerSecond, intervals } = log.counts(died + 9 * second);
    // 20 intervals in the last second of its life, then 9 s of nothing.
    expect(framesPerSecond).toBeCloseTo(20 / 10, 6);
    expect(intervals?.longestSeconds).toBeCloseTo(9, 6);
    expect(intervals?.meanSeconds).toBeCloseTo(0.05, 6);
  });

  it('takes the values of one answer for one frame where there are no lines', () => {
    const log = createWireLog();
    for (const at of [10, 10, 10, 20, 20]) log.delivered(at);
    expect(log.counts(20).frames).toBe(2);
  });
});
