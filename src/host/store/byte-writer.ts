/**
 * Builds the canonical byte layout of docs/formats/chain.md: little-endian numbers, texts and byte strings
 * preceded by their length. Grows as needed; a writer may be used again after `reset`.
 */
export class ByteWriter {
  #buffer: Buffer;
  #view: DataView;
  #length = 0;

  constructor(capacity = 1024) {
    this.#buffer = Buffer.alloc(capacity);
    this.#view = new DataView(this.#buffer.buffer, this.#buffer.byteOffset, capacity);
  }

  #room(count: number): number {
    const needed = this.#length + count;
    if (needed > this.#buffer.length) {
      const larger = Buffer.alloc(Math.max(needed, this.#buffer.length * 2));
      this.#buffer.copy(larger, 0, 0, this.#length);
      this.#buffer = larger;
      this.#view = new DataView(larger.buffer, larger.byteOffset, larger.length);
    }
    const at = this.#length;
    this.#length = needed;
    return at;
  }

  /** One byte. */
  u8(value: number): this {
    const at = this.#room(1);
    this.#view.setUint8(at, value);
    return this;
  }

  /** Four bytes, unsigned. */
  u32(value: number): this {
    const at = this.#room(4);
    this.#view.setUint32(at, value, true);
    return this;
  }

  /** Eight bytes, unsigned, of a safe integer ≥ 0. */
  u64(value: number): this {
    const at = this.#room(8);
    this.#view.setUint32(at, value % 0x1_0000_0000, true);
    this.#view.setUint32(at + 4, Math.floor(value / 0x1_0000_0000), true);
    return this;
  }

  /** IEEE 754 double. Every NaN is written as the one quiet NaN 0x7ff8000000000000. */
  f64(value: number): this {
    const at = this.#room(8);
    this.#view.setFloat64(at, Number.isNaN(value) ? Number.NaN : value, true);
    return this;
  }

  /** LEB128: seven bits a byte, lowest first, high bit set on all but the last. Integers from 0 to 2^53. */
  varint(value: number): this {
    let rest = value;
    while (rest >= 0x80) {
      this.u8((rest % 0x80) + 0x80);
      rest = Math.floor(rest / 0x80);
    }
    return this.u8(rest);
  }

  /** A signed integer, |value| ≤ 2^52, as LEB128 of 2·value, or of −2·value − 1 when negative. */
  signedVarint(value: number): this {
    return this.varint(value >= 0 ? value * 2 : -value * 2 - 1);
  }

  /** Bytes without a length: for digests, whose length is fixed. */
  raw(bytes: Uint8Array): this {
    const at = this.#room(bytes.length);
    this.#buffer.set(bytes, at);
    return this;
  }

  /** Length (u32), then the bytes. */
  bytes(bytes: Uint8Array): this {
    return this.u32(bytes.length).raw(bytes);
  }

  /** Length in bytes (u32), then UTF-8. */
  text(text: string): this {
    const count = Buffer.byteLength(text, 'utf8');
    this.u32(count);
    const at = this.#room(count);
    this.#buffer.write(text, at, count, 'utf8');
    return this;
  }

  reset(): this {
    this.#length = 0;
    return this;
  }

  /** What was written, as a view that the next `reset` invalidates. */
  view(): Uint8Array {
    return this.#buffer.subarray(0, this.#length);
  }

  /** What was written, as a copy. */
  copy(): Uint8Array {
    return Uint8Array.prototype.slice.call(this.#buffer, 0, this.#length);
  }
}
