import { z } from 'zod';
import type { WireEntry } from '../../bridge/wire.ts';
import { ChambersideError } from '../../model/error-code.ts';
import { problemCodeNames } from '../../model/reading.ts';
import { instrumentSchema } from '../../model/rig.ts';
import { toMicroseconds, toSeconds } from '../../model/time.ts';

/** The file of a capture, docs/formats/wire-capture.md: lines of JSON, the first of them the header. */

export const captureVersion = 1;
export const captureEnding = '.wire.jsonl';
/** Largest capture that is written or read, bytes. Playing one takes some 12 bytes of memory for each (measured). */
export const mostCaptureBytes = 128 * 1024 * 1024;

const headerSchema = z.object({
  format: z.literal('chamberside-wire-capture'),
  version: z.number().int().positive(),
  program: z.string(),
  /** Wall clock at second 0, ISO 8601 in UTC. */
  startedAt: z.iso.datetime(),
  rig: z.string(),
  virtual: z.boolean(),
  /** As in the rig: with it the driver that made sense of the bytes is opened again. */
  instrument: instrumentSchema,
  /** The transport's label when the capture began; null while it was not connected. */
  connection: z.string().nullable(),
  /** Its line went through the guard, and what that said and heard by itself is not here. Absent: it did not. */
  guarded: z.boolean().optional(),
});
export type CaptureHeader = z.infer<typeof headerSchema>;

const atSeconds = z.number().nonnegative();
const lineSchema = z.union([
  z.strictObject({
    atSeconds,
    direction: z.enum(['in', 'out']),
    hex: z.string().regex(/^(?:[0-9a-f]{2})*$/),
  }),
  z.strictObject({
    atSeconds,
    problem: z.enum(problemCodeNames),
    detail: z.string(),
    byteCount: z.number().int().nonnegative(),
  }),
  z.strictObject({ missed: z.number().int().positive() }),
  z.strictObject({ atSeconds, end: z.string() }),
]);
type CaptureLine = z.infer<typeof lineSchema>;

/** Here entries are missing: the program had forgotten them before they could be written. */
export interface CaptureGap {
  readonly entry: 'missed';
  readonly number: number;
  /** Of the entry before it. */
  readonly atMicroseconds: number;
  readonly missed: number;
}
export type CaptureEntry = WireEntry | CaptureGap;

/** A capture as it was read. Times are µs from its beginning. */
export interface Capture {
  readonly header: CaptureHeader;
  readonly entries: readonly CaptureEntry[];
  /** Sum of all gaps. */
  readonly missed: number;
  /** How it ended; null when it was cut short. */
  readonly end: string | null;
  readonly durationMicroseconds: number;
  /** Bytes at the end of the file that are no whole line, left out. */
  readonly tornBytes: number;
}

export function headerLine(header: CaptureHeader): string {
  return `${JSON.stringify(header)}\n`;
}

/** @param beginsAtMicroseconds host clock at second 0. */
export function entryLine(entry: WireEntry, beginsAtMicroseconds: number): string {
  const at = toSeconds(Math.max(0, entry.atMicroseconds - beginsAtMicroseconds));
  const line: CaptureLine =
    entry.entry === 'bytes'
      ? { atSeconds: at, direction: entry.direction, hex: entry.hex }
      : { atSeconds: at, problem: entry.code, detail: entry.detail, byteCount: entry.byteCount };
  return `${JSON.stringify(line)}\n`;
}

export function missedLine(missed: number): string {
  return `${JSON.stringify({ missed } satisfies CaptureLine)}\n`;
}

export function endLine(why: string, atMicroseconds: number, beginsAtMicroseconds: number): string {
  const line: CaptureLine = { atSeconds: toSeconds(Math.max(0, atMicroseconds - beginsAtMicroseconds)), end: why };
  return `${JSON.stringify(line)}\n`;
}

/**
 * Reads a capture. One that was cut short is read up to its last whole line.
 * @param where for messages: the path.
 * @throws ChambersideError `file-not-ours`, `file-newer`, `file-damaged`.
 */
export function readCapture(text: string, where: string): Capture {
  const lines = text.split('\n');
  // After the last line end there is nothing, or a line that was being written.
  const torn = lines.pop() ?? '';
  const [first, ...rest] = lines;
  const header = readHeader(first ?? torn, where);
  const entries: CaptureEntry[] = [];
  let missed = 0;
  let end: string | null = null;
  let last = 0;
  for (const [index, text_] of rest.entries()) {
    const parsed = lineSchema.safeParse(jsonOf(text_));
    if (!parsed.success || end !== null) {
      const what = end === null ? 'A line is none of a capture' : 'There are lines after the end of the capture';
      const remedy = 'Take the file as the program wrote it.';
      throw new ChambersideError('file-damaged', what, `${where}, line ${index + 2}`, remedy);
    }
    const line = parsed.data;
    if ('missed' in line) {
      missed += line.missed;
      entries.push({ entry: 'missed', number: entries.length + 1, atMicroseconds: last, missed: line.missed });
      continue;
    }
    const atMicroseconds = toMicroseconds(line.atSeconds);
    last = Math.max(last, atMicroseconds);
    const number = entries.length + 1;
    if ('hex' in line) {
      entries.push({ entry: 'bytes', number, atMicroseconds, direction: line.direction, hex: line.hex });
    } else if ('problem' in line) {
      const { byteCount, detail, problem: code } = line;
      entries.push({ entry: 'problem', number, atMicroseconds, code, detail, byteCount });
    } else end = line.end;
  }
  const tornBytes = Buffer.byteLength(torn);
  return { header, entries, missed, end, durationMicroseconds: last, tornBytes };
}

function readHeader(line: string, where: string): CaptureHeader {
  const found = jsonOf(line);
  const mark = z.object({ format: z.literal('chamberside-wire-capture'), version: z.number() }).safeParse(found);
  const remedy = 'Choose a file that was captured by the program.';
  if (!mark.success) throw new ChambersideError('file-not-ours', 'The file is no capture of a wire', where, remedy);
  if (mark.data.version > captureVersion) {
    const what = `The capture is of version ${mark.data.version}, this program knows ${captureVersion}`;
    throw new ChambersideError('file-newer', what, where, 'Use a newer version of the program.');
  }
  const header = headerSchema.safeParse(found);
  if (header.success) return header.data;
  const [issue] = header.error.issues;
  const what = `The header of the capture is wrong: ${issue?.path.join('.') ?? ''} ${issue?.message ?? ''}`;
  throw new ChambersideError('file-damaged', what, `${where}, line 1`, 'Take the file as the program wrote it.');
}

/** Undefined for what is no JSON. */
function jsonOf(line: string): unknown {
  try {
    return JSON.parse(line) as unknown;
  } catch {
    return undefined;
  }
}
