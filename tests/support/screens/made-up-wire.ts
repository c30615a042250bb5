import type { CaptureState, WireEntry, WireView } from '../../../src/bridge/wire.ts';
import { toMicroseconds } from '../../../src/model/time.ts';

const linesPerSecond = 100;
/** Every so many lines one is garbled. */
const garbledEvery = 137;
const hexOf = (text: string): string => Buffer.from(text, 'latin1').toString('hex');

/** The wire of a photometer that speaks by itself, and is asked something now and then. */
function entriesOfLine(line: number): WireEntry[] {
  // Four entries a line, so that numbers follow from lines: the question, two parts of the answer, a problem.
  const number = line * 4 + 1;
  const at = toMicroseconds(line / linesPerSecond) + (line % 3) * 900;
  const garbled = line % garbledEvery === 11;
  const text = `conc ${(0.0087 + (line % 9) / 10_000).toFixed(5)} mg/m3 ok *5C`;
  const sent: WireEntry = { entry: 'bytes', number, atMicroseconds: at, direction: 'out', hex: hexOf('ID?\r\n') };
  const whole: WireEntry = {
    ...sent,
    number: number + 1,
    direction: 'in',
    hex: hexOf(garbled ? `conc 0.0\u00ff\u0013\u0000 mg/m3 ok *5C\r\n` : `${text}\r\n`),
  };
  const problem: WireEntry = {
    entry: 'problem',
    number: number + 3,
    atMicroseconds: at,
    code: 'line-undecodable',
    detail: '"conc 0.0ÿ␓␀ mg/m3 ok *5C" does not fit the pattern',
    byteCount: 27,
  };
  return [...(line % 20 === 0 ? [sent] : []), whole, ...(garbled ? [problem] : [])];
}

const mostEntries = 500;

/** @param seconds since the scene began. */
export function madeUpWire(seconds: number, after: number | null, capture: CaptureState | null): WireView {
  const newest = Math.floor((60 + seconds) * linesPerSecond);
  const from = after === null ? newest - mostEntries : Math.floor(after / 4);
  const entries: WireEntry[] = [];
  for (let line = Math.max(0, from); line < newest; line += 1) {
    for (const entry of entriesOfLine(line)) if (entry.number > (after ?? 0)) entries.push(entry);
  }
  return {
    nowMicroseconds: toMicroseconds(newest / linesPerSecond),
    entries: entries.slice(-mostEntries),
    missed: 0,
    more: false,
    counts: {
      receivedBytes: newest * 28,
      sentBytes: Math.floor(newest / 20) * 5,
      frames: newest,
      problems: [
        { code: 'line-undecodable', count: Math.floor(newest / garbledEvery), byteCount: 27 },
        { code: 'connection-lost', count: 1, byteCount: 0 },
        { code: 'connection-restored', count: 1, byteCount: 0 },
      ],
      framesPerSecond: 99.8,
      receivedBytesPerSecond: 2794,
      intervals: { count: 999, meanSeconds: 0.01002, jitterSeconds: 0.00074, longestSeconds: 0.0137 },
    },
    capture,
    guarded: false,
  };
}
