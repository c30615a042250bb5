/**
 * The binary sample frame, version 1, little-endian:
 *
 * | bytes | what |
 * | --- | --- |
 * | 0 | version, 1 |
 * | 1 | kind: 1 live samples, 2 history, 3 end of a history answer, 4 heartbeat |
 * | 2–3 | stream index, u16; heartbeat: number of the time base (see below) |
 * | 4–7 | u32; live: sequence number of the frame in its stream; history: request number; heartbeat: counter |
 * | 8–11 | count of samples, u32 |
 * | 12–19 | f64, µs; live and history: time of the first sample; heartbeat: time now, NaN while no rig is open |
 * | 20–23 | live: number of samples left out before this frame because the window was slow, u32; else 0 |
 * | 24–… | count × u32: offset of each sample from `start`, µs |
 * | …  | padding to a multiple of 8, count × f64: values in the stream's unit |
 *
 * Time on the channel is trial time while a trial is under way, and time since the rig was opened otherwise. When one
 * takes the place of the other, or another trial or rig comes, the number of the time base changes and a window
 * forgets the samples that it holds. Every frame after a heartbeat is on that heartbeat's base.
 *
 * A heartbeat has no samples, but in a replay one: its value says how fast time runs, 0 when it stands.
 *
 * A frame never spans more than 4294 s and never exceeds `largestFrameBytes`.
 */
export const frameVersion = 1;
export const largestFrameBytes = 64 * 1024;
const headerBytes = 24;

/** Samples that fit one frame: 12 bytes each behind the header and the padding. */
export const largestFrameSamples = Math.floor((largestFrameBytes - headerBytes - 8) / 12);

const kindNumbers = { live: 1, history: 2, 'history-end': 3, heartbeat: 4 } as const;
export type FrameKind = keyof typeof kindNumbers;

/** One frame. `times` in µs of trial time and `values` in the stream's unit, of equal length. */
export interface SampleFrame {
  readonly kind: FrameKind;
  readonly stream: number;
  /** See the table: sequence, request or counter. */
  readonly number: number;
  readonly leftOut: number;
  /** Time of the first sample, or now in a heartbeat (NaN while no rig is open). */
  readonly startMicroseconds: number;
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/** @throws RangeError when it does not fit, lengths differ, or times do not ascend within the span. */
export function encodeFrame(frame: SampleFrame): Uint8Array<ArrayBuffer> {
  const count = frame.values.length;
  if (frame.times.length !== count) throw new RangeError('as many times as values');
  if (count > largestFrameSamples) throw new RangeError(`at most ${largestFrameSamples} samples in a frame`);
  const valuesAt = valuesOffset(count);
  const bytes = new Uint8Array(valuesAt + count * 8);
  const view = new DataView(bytes.buffer);
  view.setUint8(0, frameVersion);
  view.setUint8(1, kindNumbers[frame.kind]);
  view.setUint16(2, frame.stream, true);
  view.setUint32(4, frame.number >>> 0, true);
  view.setUint32(8, count, true);
  view.setFloat64(12, frame.startMicroseconds, true);
  view.setUint32(20, frame.leftOut >>> 0, true);
  for (let index = 0; index < count; index += 1) {
    const offset = (frame.times[index] ?? NaN) - frame.startMicroseconds;
    if (!(offset >= 0 && offset <= 0xffffffff)) throw new RangeError('a sample lies outside the span of its frame');
    view.setUint32(headerBytes + index * 4, offset, true);
    view.setFloat64(valuesAt + index * 8, frame.values[index] ?? NaN, true);
  }
  return bytes;
}

/** The frame in these bytes, or null when they are none: too short, another version or kind, wrong length. */
export function decodeFrame(bytes: Uint8Array): SampleFrame | null {
  if (bytes.length < headerBytes || bytes[0] !== frameVersion) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const kind = kindOf(view.getUint8(1));
  const count = view.getUint32(8, true);
  if (kind === null || count > largestFrameSamples) return null;
  const valuesAt = valuesOffset(count);
  if (bytes.length !== valuesAt + count * 8) return null;
  const startMicroseconds = view.getFloat64(12, true);
  const times = new Float64Array(count);
  const values = new Float64Array(count);
  for (let index = 0; index < count; index += 1) {
    times[index] = startMicroseconds + view.getUint32(headerBytes + index * 4, true);
    values[index] = view.getFloat64(valuesAt + index * 8, true);
  }
  return {
    kind,
    stream: view.getUint16(2, true),
    number: view.getUint32(4, true),
    leftOut: view.getUint32(20, true),
    startMicroseconds,
    times,
    values,
  };
}

function valuesOffset(count: number): number {
  return Math.ceil((headerBytes + count * 4) / 8) * 8;
}

function kindOf(number: number): FrameKind | null {
  for (const [kind, value] of Object.entries(kindNumbers)) if (value === number) return kind as FrameKind;
  return null;
}
