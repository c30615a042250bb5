import type { WireCounts } from '../../src/bridge/wire.ts';
import { significant } from '../../src/model/number-text.ts';
import { problemCodes } from '../../src/model/reading.ts';
import type { ProblemCode } from '../../src/model/reading.ts';

/** `27`, `33.6 kB`, `1.20 MB`. */
function byteText(bytes: number): string {
  if (bytes < 10_000) return `${bytes}\u00a0bytes`;
  return bytes < 1_000_000 ? `${(bytes / 1000).toFixed(1)}\u00a0kB` : `${(bytes / 1_000_000).toFixed(2)}\u00a0MB`;
}

const milliseconds = (seconds: number): string => `${significant(seconds * 1000, 3)}\u00a0ms`;

export const wireWords = {
  open: 'Wire',
  openOf: (name: string) => `Watch the wire of ${name}`,
  title: (name: string) => `Wire of ${name}`,
  back: 'Back to the rig',
  instruments: 'Instrument',
  hold: 'Hold the list',
  goOn: 'Go on with the newest',
  held: (behind: number) => (behind === 0 ? 'Held' : `Held; ${behind} more came since`),
  capture: 'Capture to a file',
  endCapture: 'End the capture',
  capturing: (path: string, bytes: number) => `Capturing to ${path}, ${byteText(bytes)} so far`,
  captured: (path: string, bytes: number) => `Captured to ${path}, ${byteText(bytes)}`,
  captureStopped: 'The capture has stopped.',
  captureShort: { running: 'Capturing', stopped: 'Capture stopped', ended: null },
  guarded:
    'Through the guard: what the guard says and hears by itself (load to zero) is not here, and what the program ' +
    'says while the guard has the line is shown as out but dropped.',
  list: 'What went over the wire, newest at the end',
  time: 'Time',
  since: 'After ms',
  sinceFull: 'Milliseconds after the one before in the same direction',
  direction: 'Way',
  text: 'Text',
  hex: 'Hexadecimal',
  in: 'in',
  out: 'out',
  problem: 'Problem',
  problemText: (code: string) => problemCodes[code as ProblemCode],
  bytesOf: (count: number) => (count === 1 ? '1 byte' : `${count} bytes`),
  missed: (count: number) => `${count} entries were gone before this window asked for them`,
  nothing: 'Nothing has gone over this wire since the rig was opened.',
  frames: 'Lines or answers',
  framesPerSecond: (rate: number) => `${significant(rate, 3)} /s, last 10\u00a0s`,
  interval: 'Interval, last 10\u00a0s',
  intervalText: (intervals: NonNullable<WireCounts['intervals']>) => milliseconds(intervals.meanSeconds),
  jitter: (intervals: NonNullable<WireCounts['intervals']>) =>
    `jitter ${milliseconds(intervals.jitterSeconds)}, longest ${milliseconds(intervals.longestSeconds)}`,
  noInterval: 'too few in 10\u00a0s',
  received: 'In',
  sent: 'Out',
  bytes: byteText,
  bytesPerSecond: (rate: number) => `${significant(rate, 3)} bytes/s`,
  problems: 'Problems',
  noProblems: 'none',
  problemCount: (count: number, code: string) => `${count} ${code}`,
};
