import { ByteReader } from './byte-reader.ts';
import { ByteWriter } from './byte-writer.ts';

/** Name of the encoding of readings; byte-exact in docs/formats/study-file.md. */
export const readingsEncoding = 'readings/1';
/** Name of the encoding of wire bytes. */
export const wireEncoding = 'wire/1';
/** Cipher of every blob so far. */
export const noCipher = 'none';

/** Readings of one stream and link: arrays of equal length, in order of arrival. */
export interface ReadingBlock {
  readonly times: Float64Array;
  readonly values: Float64Array;
}

/** Reads (or writes) of one instrument, direction and link; `bytes` holds them one after the other. */
export interface WireBlock {
  readonly times: Float64Array;
  readonly lengths: Float64Array;
  readonly bytes: Uint8Array;
}

const writer = new ByteWriter(4096);

/** Count, time differences as signed varints (the first against `fromMicroseconds`), values as doubles. */
export function encodeReadings(block: ReadingBlock, fromMicroseconds: number): Uint8Array {
  writer.reset().u32(block.times.length);
  let before = fromMicroseconds;
  for (const time of block.times) {
    writer.signedVarint(time - before);
    before = time;
  }
  for (const value of block.values) writer.f64(value);
  return writer.copy();
}

/** @throws RangeError when the bytes are not of this form. */
export function decodeReadings(blob: Uint8Array, fromMicroseconds: number): ReadingBlock {
  const reader = new ByteReader(blob);
  const count = reader.u32();
  if (count * 9 > reader.remaining) throw new RangeError('the bytes hold fewer readings than they say');
  const times = new Float64Array(count);
  const values = new Float64Array(count);
  let before = fromMicroseconds;
  for (let index = 0; index < count; index += 1) {
    before += reader.signedVarint();
    times[index] = before;
  }
  for (let index = 0; index < count; index += 1) values[index] = reader.f64();
  reader.end();
  return { times, values };
}

/** Count, then per read: time difference as signed varint, length as varint, the bytes. */
export function encodeWire(block: WireBlock, fromMicroseconds: number): Uint8Array {
  writer.reset().u32(block.times.length);
  let before = fromMicroseconds;
  let at = 0;
  for (const [index, time] of block.times.entries()) {
    const length = block.lengths[index] as number;
    writer
      .signedVarint(time - before)
      .varint(length)
      .raw(block.bytes.subarray(at, at + length));
    before = time;
    at += length;
  }
  return writer.copy();
}

/** @throws RangeError when the bytes are not of this form. */
export function decodeWire(
  blob: Uint8Array,
  fromMicroseconds: number,
): { atMicroseconds: number; bytes: Uint8Array }[] {
  const reader = new ByteReader(blob);
  const count = reader.u32();
  if (count * 2 > reader.remaining) throw new RangeError('the bytes hold fewer reads than they say');
  const reads: { atMicroseconds: number; bytes: Uint8Array }[] = [];
  let before = fromMicroseconds;
  for (let index = 0; index < count; index += 1) {
    before += reader.signedVarint();
    reads.push({ atMicroseconds: before, bytes: Uint8Array.from(reader.raw(reader.varint())) });
  }
  reader.end();
  return reads;
}
