import type { ProblemCode } from '../../../src/model/reading.ts';

/** Unit of RR intervals on the wire: 1/1024 s, in ms. */
export const rrIntervalMilliseconds = 1000 / 1024;

/** Most RR intervals that one notification of 20 bytes holds besides flags and an 8-bit heart rate. */
export const mostRrIntervals = 9;

const flagBits = {
  wideHeartRate: 0x01,
  contactDetected: 0x02,
  contactSupported: 0x04,
  energy: 0x08,
  rrIntervals: 0x10,
};

/** The content of a Heart Rate Measurement (Bluetooth SIG, characteristic 0x2A37). */
export interface HeartRateMeasurement {
  /** Per minute. */
  readonly heartRate: number;
  readonly contact: 'unsupported' | 'detected' | 'lost';
  /** Energy expended since its last reset, kJ; undefined when not in the payload. */
  readonly energyKilojoules: number | undefined;
  /** Oldest first, ms; empty when not in the payload. */
  readonly rrIntervalsMilliseconds: readonly number[];
}

export type Decoded<Content> =
  | { readonly decoded: 'measurement'; readonly measurement: Content }
  | { readonly decoded: 'problem'; readonly code: ProblemCode; readonly detail: string };

const hexByte = /^[0-9A-Fa-f]{2}$/;

/** Bytes of a line of hex digits, blanks allowed between bytes; undefined when it is anything else. */
export function parseHex(line: string): Uint8Array | undefined {
  const bytes: number[] = [];
  for (const word of line.split(/[ \t\r]/)) {
    for (let index = 0; index < word.length; index += 2) {
      const pair = word.slice(index, index + 2);
      if (!hexByte.test(pair)) return undefined;
      bytes.push(Number.parseInt(pair, 16));
    }
  }
  return Uint8Array.from(bytes);
}

/** Upper-case hex, bytes separated by single blanks. */
export function formatHex(payload: Uint8Array): string {
  return Array.from(payload, (byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');
}

/**
 * Decodes one payload. Bits 5 to 7 of the flags are reserved and ignored; the contact bit counts only where contact
 * is supported; all RR intervals are taken. A payload that is too short for its flags, or has bytes that belong to
 * none of its fields, is malformed as a whole: its heart rate may be of another line. Never throws.
 */
export function decodePayload(payload: Uint8Array): Decoded<HeartRateMeasurement> {
  const malformed = (what: string): Decoded<HeartRateMeasurement> => ({
    decoded: 'problem',
    code: 'payload-malformed',
    detail: `${what}: ${payload.length === 0 ? 'no bytes' : formatHex(payload)}`,
  });
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  if (payload.length === 0) return malformed('empty payload');
  const flags = view.getUint8(0);
  const wide = (flags & flagBits.wideHeartRate) !== 0;
  let position = 1;
  const left = (): number => payload.length - position;
  if (left() < (wide ? 2 : 1)) return malformed('too short for its heart rate');
  const heartRate = wide ? view.getUint16(position, true) : view.getUint8(position);
  position += wide ? 2 : 1;
  let energyKilojoules: number | undefined;
  if ((flags & flagBits.energy) !== 0) {
    if (left() < 2) return malformed('too short for its energy');
    energyKilojoules = view.getUint16(position, true);
    position += 2;
  }
  const rrIntervalsMilliseconds: number[] = [];
  if ((flags & flagBits.rrIntervals) !== 0) {
    for (; left() >= 2; position += 2) {
      rrIntervalsMilliseconds.push(view.getUint16(position, true) * rrIntervalMilliseconds);
    }
  }
  if (left() > 0) return malformed(`${left()} bytes left over`);
  const contact =
    (flags & flagBits.contactSupported) === 0
      ? 'unsupported'
      : (flags & flagBits.contactDetected) === 0
        ? 'lost'
        : 'detected';
  return { decoded: 'measurement', measurement: { heartRate, contact, energyKilojoules, rrIntervalsMilliseconds } };
}

/** Decodes one line. Never throws. */
export function decodeLine(line: string): Decoded<HeartRateMeasurement> {
  const payload = parseHex(line);
  if (payload !== undefined) return decodePayload(payload);
  const shown = JSON.stringify(line.length > 80 ? `${line.slice(0, 80)}…` : line);
  return { decoded: 'problem', code: 'line-undecodable', detail: `${shown} is not a line of hex bytes` };
}

const clampToWord = (value: number): number => Math.min(0xffff, Math.max(0, Math.round(value)));

/**
 * Encodes a measurement: heart rate in the smaller format that holds it, values rounded and clamped to what their
 * fields hold.
 */
export function encodePayload(measurement: HeartRateMeasurement): Uint8Array {
  const { contact, energyKilojoules, rrIntervalsMilliseconds } = measurement;
  const heartRate = clampToWord(measurement.heartRate);
  const bytes = [0];
  let flags = 0;
  const word = (value: number): void => {
    const clamped = clampToWord(value);
    bytes.push(clamped & 0xff, clamped >> 8);
  };
  if (heartRate > 0xff) {
    flags |= flagBits.wideHeartRate;
    word(heartRate);
  } else {
    bytes.push(heartRate);
  }
  if (contact !== 'unsupported') flags |= flagBits.contactSupported;
  if (contact === 'detected') flags |= flagBits.contactDetected;
  if (energyKilojoules !== undefined) {
    flags |= flagBits.energy;
    word(energyKilojoules);
  }
  if (rrIntervalsMilliseconds.length > 0) flags |= flagBits.rrIntervals;
  for (const interval of rrIntervalsMilliseconds) word(interval / rrIntervalMilliseconds);
  bytes[0] = flags;
  return Uint8Array.from(bytes);
}
