import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ByteReader } from '../../../../src/host/store/byte-reader.ts';
import { ByteWriter } from '../../../../src/host/store/byte-writer.ts';
import { canonicalJson } from '../../../../src/host/store/canonical-json.ts';
import { decodeReadings, decodeWire, encodeReadings, encodeWire } from '../../../../src/host/store/encoding.ts';

const hexadecimal = (bytes: Uint8Array): string => Buffer.from(bytes).toString('hex');

describe('the byte layout', () => {
  it('writes what the document says', () => {
    const writer = new ByteWriter(1)
      .u8(255)
      .u32(1)
      .u64(2 ** 40 + 3)
      .f64(1)
      .text('é')
      .bytes(Uint8Array.of(9))
      .raw(Uint8Array.of(7));
    expect(hexadecimal(writer.copy())).toBe(
      'ff' + '01000000' + '0300000000010000' + '000000000000f03f' + '02000000c3a9' + '0100000009' + '07',
    );
    expect(hexadecimal(new ByteWriter().f64(Number.NaN).copy())).toBe('000000000000f87f');
  });

  it('reads numbers back, up to the largest', () => {
    fc.assert(
      fc.property(fc.integer({ min: -(2 ** 52), max: 2 ** 52 }), fc.maxSafeNat(), (signed, unsigned) => {
        const reader = new ByteReader(new ByteWriter().signedVarint(signed).varint(unsigned).u64(unsigned).copy());
        expect([reader.signedVarint() + 0, reader.varint(), reader.u64()]).toEqual([signed + 0, unsigned, unsigned]);
        reader.end();
      }),
    );
  });

  it('refuses bytes that end early, run on or hold impossible numbers', () => {
    expect(() => new ByteReader(Uint8Array.of(1, 0)).u32()).toThrow(RangeError);
    expect(() => new ByteReader(Uint8Array.of(1)).end()).toThrow(RangeError);
    expect(() => new ByteReader(new Uint8Array(9).fill(0xff)).varint()).toThrow(RangeError);
    expect(() => new ByteReader(new Uint8Array(8).fill(0xff)).u64()).toThrow(RangeError);
  });
});

describe('readings', () => {
  it('come back bit for bit, late and early ones included', () => {
    const entry = fc.tuple(fc.integer({ min: 0, max: 2 ** 50 }), fc.double());
    fc.assert(
      fc.property(fc.array(entry), fc.integer({ min: 0, max: 2 ** 50 }), (entries, from) => {
        const block = {
          times: Float64Array.from(entries, ([time]) => time),
          values: Float64Array.from(entries, ([, value]) => value),
        };
        expect(decodeReadings(encodeReadings(block, from), from)).toEqual(block);
      }),
    );
  });

  it('keep negative zero, NaN and infinities', () => {
    const block = { times: Float64Array.of(1, 2, 3, 4), values: Float64Array.of(-0, Number.NaN, Infinity, -Infinity) };
    const { values } = decodeReadings(encodeReadings(block, 0), 0);
    expect(Object.is(values[0], -0)).toBe(true);
    expect([...values.subarray(1)]).toEqual([Number.NaN, Infinity, -Infinity]);
  });

  it('are as the document writes them', () => {
    const block = { times: Float64Array.of(1_000_050, 1_000_049), values: Float64Array.of(0.5, -2) };
    expect(hexadecimal(encodeReadings(block, 1_000_000))).toBe(
      '02000000' + '64' + '01' + '000000000000e03f' + '00000000000000c0',
    );
  });

  it('are refused when damaged, whatever the damage', () => {
    const blob = encodeReadings({ times: Float64Array.of(5, 6), values: Float64Array.of(1, 2) }, 0);
    for (let length = 0; length < blob.length; length += 1) {
      expect(() => decodeReadings(blob.subarray(0, length), 0)).toThrow(RangeError);
    }
    expect(() => decodeReadings(Uint8Array.of(255, 255, 255, 255, 0), 0)).toThrow(RangeError);
    fc.assert(
      fc.property(fc.uint8Array(), (bytes) => {
        try {
          decodeReadings(bytes, 0);
        } catch (error) {
          expect(error).toBeInstanceOf(RangeError);
        }
      }),
    );
  });
});

describe('wire bytes', () => {
  it('come back read by read', () => {
    const read = fc.record({ atMicroseconds: fc.integer({ min: 0, max: 2 ** 50 }), bytes: fc.uint8Array() });
    fc.assert(
      fc.property(fc.array(read), fc.integer({ min: 0, max: 2 ** 50 }), (reads, from) => {
        const block = {
          times: Float64Array.from(reads, (entry) => entry.atMicroseconds),
          lengths: Float64Array.from(reads, (entry) => entry.bytes.length),
          bytes: Uint8Array.from(reads.flatMap((entry) => [...entry.bytes])),
        };
        expect(decodeWire(encodeWire(block, from), from)).toEqual(reads);
      }),
    );
  });

  it('are refused when they end early', () => {
    const blob = encodeWire(
      { times: Float64Array.of(5), lengths: Float64Array.of(3), bytes: Uint8Array.of(1, 2, 3) },
      0,
    );
    for (let length = 0; length < blob.length; length += 1)
      expect(() => decodeWire(blob.subarray(0, length), 0)).toThrow(RangeError);
  });
});

describe('canonical JSON', () => {
  it('has one form for equal data', () => {
    expect(canonicalJson({ b: [1, 'x', null, true], a: { z: -0, y: 1e21 }, c: undefined })).toBe(
      '{"a":{"y":1e+21,"z":0},"b":[1,"x",null,true]}',
    );
    expect(canonicalJson({ '\u20ac': 1, '\r': 2, '1': 3, ö: 4 })).toBe('{"\\r":2,"1":3,"ö":4,"€":1}');
  });

  it('reads back as what it was', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        expect(canonicalJson(JSON.parse(canonicalJson(value)))).toBe(canonicalJson(value));
      }),
    );
  });

  it('does not depend on the order of members', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.string(), fc.integer()), (dictionary) => {
        const turned = Object.fromEntries(Object.entries(dictionary).reverse());
        expect(canonicalJson(turned)).toBe(canonicalJson(dictionary));
      }),
    );
  });

  it('refuses what JSON cannot hold', () => {
    const cycle: Record<string, unknown> = {};
    cycle['self'] = cycle;
    for (const value of [Number.NaN, Infinity, [undefined], () => 1, 1n, Symbol('x'), { deep: [cycle] }]) {
      expect(() => canonicalJson(value)).toThrow(RangeError);
    }
    const shared = { a: 1 };
    expect(canonicalJson([shared, shared])).toBe('[{"a":1},{"a":1}]');
  });
});
