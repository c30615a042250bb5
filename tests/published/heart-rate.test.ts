import { describe, expect, it } from 'vitest';
import {
  decodeLine,
  decodePayload,
  encodePayload,
  formatHex,
  parseHex,
  rrIntervalMilliseconds,
} from '../../drivers/heart-rate/measurement-hex/codec.ts';
import type { HeartRateMeasurement } from '../../drivers/heart-rate/measurement-hex/codec.ts';

// Source of the layout: open standard, Bluetooth SIG, Heart Rate Service (0x180D), characteristic Heart Rate
// Measurement (0x2A37). The payloads below are computed from that layout, by hand and not by this program.

type Row = readonly [string, number, HeartRateMeasurement['contact'], number | undefined, readonly number[]];

const payloads: readonly Row[] = [
  ['00 48', 72, 'unsupported', undefined, []],
  ['06 48', 72, 'detected', undefined, []],
  ['04 48', 72, 'lost', undefined, []],
  // Check value 122.
  ['16 48 58 03', 72, 'detected', undefined, [835.9375]],
  ['16 3C 00 04 00 04', 60, 'detected', undefined, [1000, 1000]],
  ['10 50 00 03 0C 03', 80, 'unsupported', undefined, [750, 761.71875]],
  // Check value 123.
  ['01 2C 01', 300, 'unsupported', undefined, []],
  // Check value 125.
  ['0E 5A 34 12', 90, 'detected', 4660, []],
  // Check value 124.
  ['1E 60 10 00 80 02 76 02', 96, 'detected', 16, [625, 615.234375]],
  ['1F B4 00 E8 03 55 01', 180, 'detected', 1000, [333.0078125]],
];

describe('Heart Rate Measurement payloads (Bluetooth SIG 0x2A37, computed from the layout)', () => {
  it.each(payloads)('%s', (hex, heartRate, contact, energyKilojoules, rrIntervalsMilliseconds) => {
    const measurement = { heartRate, contact, energyKilojoules, rrIntervalsMilliseconds };
    expect(decodeLine(hex)).toEqual({ decoded: 'measurement', measurement });
    expect(decodeLine(hex.replaceAll(' ', '').toLowerCase())).toEqual({ decoded: 'measurement', measurement });
  });

  it.each(payloads.filter(([hex]) => hex !== '1F B4 00 E8 03 55 01'))(
    '%s is encoded the same',
    (hex, heartRate, contact, energy, intervals) => {
      const payload = encodePayload({
        heartRate,
        contact,
        energyKilojoules: energy,
        rrIntervalsMilliseconds: intervals,
      });
      expect(formatHex(payload)).toBe(hex);
    },
  );

  it('takes the wide format for a rate that fits the narrow one (1F B4 00 … is 180)', () => {
    expect(
      formatHex(
        encodePayload({
          heartRate: 180,
          contact: 'detected',
          energyKilojoules: 1000,
          rrIntervalsMilliseconds: [333.0078125],
        }),
      ),
    ).toBe('1E B4 E8 03 55 01');
  });

  // Check value 126: RR of 856/1024 s; absolute tolerance 1e-4 per minute.
  it('856 units of RR are 835.9375 ms, a rate of 71.7757 per minute', () => {
    expect(856 * rrIntervalMilliseconds).toBe(835.9375);
    expect(Math.abs(60_000 / (856 * rrIntervalMilliseconds) - 71.7757)).toBeLessThanOrEqual(1e-4);
  });

  it.each(['E0 48', 'F0 48 58 03', 'E6 48'])('ignores the reserved bits of %s', (hex) => {
    expect(decodeLine(hex)).toMatchObject({ decoded: 'measurement', measurement: { heartRate: 72 } });
  });

  it('does not heed the contact bit where contact is not supported', () => {
    expect(decodeLine('02 48')).toMatchObject({ measurement: { contact: 'unsupported' } });
  });

  it.each([
    ['', 'empty'],
    ['01', 'flags alone'],
    ['01 48', 'too short for 16 bits'],
    ['00', 'no heart rate'],
    ['10 48 58', 'odd RR byte'],
    ['10 48 58 03 01', 'odd RR byte after a whole one'],
    ['08 48', 'no energy'],
    ['08 48 01', 'half an energy'],
    ['00 48 58 03', 'bytes left over'],
  ])('malformed: "%s", %s', (hex) => {
    const payload = parseHex(hex);
    expect(payload).toBeDefined();
    expect(decodePayload(payload ?? Uint8Array.of(0, 0))).toMatchObject({
      decoded: 'problem',
      code: 'payload-malformed',
    });
  });
});
