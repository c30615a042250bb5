/** Reads the canonical byte layout. Past the end, or for an impossible number, it throws RangeError. */
export class ByteReader {
  readonly #bytes: Uint8Array;
  readonly #view: DataView;
  #at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
    this.#view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  }

  get remaining(): number {
    return this.#bytes.length - this.#at;
  }

  #take(count: number): number {
    if (count > this.remaining) throw new RangeError('the bytes end too early');
    const at = this.#at;
    this.#at += count;
    return at;
  }

  u8(): number {
    return this.#view.getUint8(this.#take(1));
  }

  u32(): number {
    return this.#view.getUint32(this.#take(4), true);
  }

  u64(): number {
    const at = this.#take(8);
    const value = this.#view.getUint32(at, true) + this.#view.getUint32(at + 4, true) * 0x1_0000_0000;
    if (!Number.isSafeInteger(value)) throw new RangeError('a number is too large');
    return value;
  }

  f64(): number {
    return this.#view.getFloat64(this.#take(8), true);
  }

  varint(): number {
    let value = 0;
    let factor = 1;
    for (let count = 0; count < 8; count += 1) {
      const byte = this.u8();
      value += (byte & 0x7f) * factor;
      if (byte < 0x80) return value;
      factor *= 0x80;
    }
    throw new RangeError('a number is too long');
  }

  signedVarint(): number {
    const value = this.varint();
    return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
  }

  raw(count: number): Uint8Array {
    const at = this.#take(count);
    return this.#bytes.subarray(at, at + count);
  }

  bytes(): Uint8Array {
    return this.raw(this.u32());
  }

  text(): string {
    return Buffer.from(this.bytes()).toString('utf8');
  }

  /** @throws RangeError when bytes are left over. */
  end(): void {
    if (this.remaining !== 0) throw new RangeError(`${this.remaining} bytes are left over`);
  }
}
