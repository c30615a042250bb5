/**
 * Modbus RTU: frames as bytes. Pure; source of the forms: "MODBUS Application Protocol Specification" (functions,
 * limits, exceptions) and "MODBUS over Serial Line" (address, check sum, order of its bytes), both published by the
 * Modbus Organization. Registers and coils are counted from 0, as on the wire.
 */

/** What a master may ask. */
export type ModbusRequest =
  /** Coils (1), discrete inputs (2), holding registers (3), input registers (4). */
  | { readonly function: 1 | 2 | 3 | 4; readonly start: number; readonly count: number }
  | { readonly function: 5; readonly coil: number; readonly on: boolean }
  | { readonly function: 6; readonly register: number; readonly value: number }
  | { readonly function: 15; readonly start: number; readonly coils: readonly boolean[] }
  | { readonly function: 16; readonly start: number; readonly registers: readonly number[] };

/** What a slave may say to it. */
export type ModbusAnswer =
  | { readonly answer: 'bits'; readonly bits: readonly boolean[] }
  | { readonly answer: 'registers'; readonly registers: readonly number[] }
  /** It has written what was asked. */
  | { readonly answer: 'written' }
  | { readonly answer: 'exception'; readonly exception: number };

/** Most that one frame may carry: bits and registers to read, bits and registers to write. */
export const modbusLimits = { readBits: 2000, readRegisters: 125, writeBits: 1968, writeRegisters: 123 } as const;

/** Longest frame, bytes. */
export const longestModbusFrame = 256;

const exceptionWords: Readonly<Record<number, string>> = {
  1: 'illegal function',
  2: 'illegal data address',
  3: 'illegal data value',
  4: 'device failure',
};

/** `exception 2, illegal data address` */
export function exceptionText(exception: number): string {
  const words = exceptionWords[exception];
  return words === undefined ? `exception ${exception}` : `exception ${exception}, ${words}`;
}

/** CRC-16 of the serial line: begins with FFFF, reflected polynomial A001, low byte sent first. */
export function modbusCrc(bytes: Uint8Array, from = 0, to = bytes.length): number {
  let crc = 0xffff;
  for (let index = from; index < to; index += 1) {
    crc ^= bytes[index] ?? 0;
    for (let bit = 0; bit < 8; bit += 1) crc = (crc & 1) === 1 ? (crc >> 1) ^ 0xa001 : crc >> 1;
  }
  return crc;
}

/** Is the part of the bytes a frame whose check sum, its last two bytes, is right? At least 4 bytes. */
export function hasRightCrc(bytes: Uint8Array, from = 0, to = bytes.length): boolean {
  if (to - from < 4) return false;
  const crc = modbusCrc(bytes, from, to - 2);
  return bytes[to - 2] === (crc & 0xff) && bytes[to - 1] === crc >> 8;
}

/** A frame of these bytes: its check sum is added. */
export function modbusFrame(content: readonly number[]): Uint8Array {
  const frame = new Uint8Array(content.length + 2);
  frame.set(content);
  const crc = modbusCrc(frame, 0, content.length);
  frame[content.length] = crc & 0xff;
  frame[content.length + 1] = crc >> 8;
  return frame;
}

const wordBytes = (word: number): [number, number] => [word >> 8, word & 0xff];
const wordAt = (bytes: Uint8Array, index: number): number => ((bytes[index] ?? 0) << 8) | (bytes[index + 1] ?? 0);

function mustBeWord(value: number, what: string): void {
  if (!Number.isInteger(value) || value < 0 || value > 0xffff) throw new RangeError(`${what} must be 0 to 65535`);
}

function mustBeCount(count: number, most: number, start: number): void {
  mustBeWord(start, 'an address');
  if (!Number.isInteger(count) || count < 1 || count > most) throw new RangeError(`a count must be 1 to ${most}`);
  if (start + count > 0x1_0000) throw new RangeError('the addresses end at 65535');
}

/** Bits in bytes, the lowest address in the lowest bit of the first byte; unused bits are 0. */
function packBits(bits: readonly boolean[]): number[] {
  const bytes = new Array<number>(Math.ceil(bits.length / 8)).fill(0);
  for (const [index, on] of bits.entries()) {
    if (on) bytes[index >> 3] = (bytes[index >> 3] ?? 0) | (1 << (index & 7));
  }
  return bytes;
}

function unpackBits(bytes: Uint8Array, from: number, count: number): boolean[] {
  return Array.from({ length: count }, (_, index) => (((bytes[from + (index >> 3)] ?? 0) >> (index & 7)) & 1) === 1);
}

const isRead = (request: ModbusRequest): request is Extract<ModbusRequest, { count: number }> => request.function <= 4;

/**
 * The frame of a request to a slave.
 * @param address 1 to 247; 0 is for all, and nobody answers.
 * @throws RangeError for what does not fit into a frame.
 */
export function encodeRequest(address: number, request: ModbusRequest): Uint8Array {
  if (!Number.isInteger(address) || address < 0 || address > 247) throw new RangeError('an address must be 0 to 247');
  const head = [address, request.function];
  if (isRead(request)) {
    const most = request.function <= 2 ? modbusLimits.readBits : modbusLimits.readRegisters;
    mustBeCount(request.count, most, request.start);
    return modbusFrame([...head, ...wordBytes(request.start), ...wordBytes(request.count)]);
  }
  switch (request.function) {
    case 5:
      mustBeWord(request.coil, 'a coil');
      return modbusFrame([...head, ...wordBytes(request.coil), request.on ? 0xff : 0, 0]);
    case 6:
      mustBeWord(request.register, 'a register');
      mustBeWord(request.value, 'a value');
      return modbusFrame([...head, ...wordBytes(request.register), ...wordBytes(request.value)]);
    case 15: {
      mustBeCount(request.coils.length, modbusLimits.writeBits, request.start);
      const packed = packBits(request.coils);
      const span = [...wordBytes(request.start), ...wordBytes(request.coils.length)];
      return modbusFrame([...head, ...span, packed.length, ...packed]);
    }
    case 16: {
      mustBeCount(request.registers.length, modbusLimits.writeRegisters, request.start);
      for (const value of request.registers) mustBeWord(value, 'a value');
      const words = request.registers.flatMap(wordBytes);
      const span = [...wordBytes(request.start), ...wordBytes(request.registers.length)];
      return modbusFrame([...head, ...span, words.length, ...words]);
    }
  }
}

/**
 * Bytes of the answer that a request has when all is well, check sum included: what makes the end of a frame known
 * before the silence after it.
 */
export function answerLength(request: ModbusRequest): number {
  if (!isRead(request)) return 8;
  return 5 + (request.function <= 2 ? Math.ceil(request.count / 8) : 2 * request.count);
}

/** Bytes of an exception, check sum included. */
export const exceptionLength = 5;

/** Set in the function of an exception. */
export const exceptionBit = 0x80;

/**
 * Length of the answer frame that would begin at `from`: null when no answer to this request of this slave begins so,
 * undefined when too few bytes are there to tell.
 */
export function answerLengthAt(
  bytes: Uint8Array,
  from: number,
  address: number,
  request: ModbusRequest,
): number | null | undefined {
  const left = bytes.length - from;
  if (left < 1) return undefined;
  if (bytes[from] !== address) return null;
  if (left < 2) return undefined;
  if (bytes[from + 1] === (request.function | exceptionBit)) return exceptionLength;
  if (bytes[from + 1] !== request.function) return null;
  const length = answerLength(request);
  if (!isRead(request)) return length;
  if (left < 3) return undefined;
  return bytes[from + 2] === length - 5 ? length : null;
}

/**
 * What a frame with a right check sum says to a request.
 * @returns null when it is no answer to it: another slave, function, length, or another thing written.
 */
export function decodeAnswer(frame: Uint8Array, address: number, request: ModbusRequest): ModbusAnswer | null {
  if (answerLengthAt(frame, 0, address, request) !== frame.length) return null;
  if (frame[1] === (request.function | exceptionBit)) return { answer: 'exception', exception: frame[2] ?? 0 };
  if (isRead(request)) {
    if (request.function <= 2) return { answer: 'bits', bits: unpackBits(frame, 3, request.count) };
    const registers = Array.from({ length: request.count }, (_, index) => wordAt(frame, 3 + 2 * index));
    return { answer: 'registers', registers };
  }
  // What was written is said again: for one value the value, for several the span.
  const asked = encodeRequest(address, request);
  for (let index = 2; index < 6; index += 1) if (frame[index] !== asked[index]) return null;
  return { answer: 'written' };
}

/** The frame of an answer, as a slave sends it. */
export function encodeAnswer(address: number, request: ModbusRequest, answer: ModbusAnswer): Uint8Array {
  switch (answer.answer) {
    case 'exception':
      return modbusFrame([address, request.function | exceptionBit, answer.exception]);
    case 'bits': {
      const packed = packBits(answer.bits);
      return modbusFrame([address, request.function, packed.length, ...packed]);
    }
    case 'registers': {
      const words = answer.registers.flatMap(wordBytes);
      return modbusFrame([address, request.function, words.length, ...words]);
    }
    case 'written':
      return modbusFrame([...encodeRequest(address, request).slice(0, 6)]);
  }
}

/**
 * Length of the request frame that begins these bytes: null for a function that is not spoken here, whose end only
 * the silence tells; undefined when too few bytes are there to tell.
 */
export function requestLength(bytes: Uint8Array): number | null | undefined {
  if (bytes.length < 2) return undefined;
  const asked = bytes[1] ?? 0;
  if (asked >= 1 && asked <= 6) return 8;
  if (asked !== 15 && asked !== 16) return null;
  return bytes.length < 7 ? undefined : 9 + (bytes[6] ?? 0);
}

/**
 * A request frame with a right check sum, as a slave reads it.
 * @returns the request, or the exception that a slave owes for its form: 1 for the function, 3 for counts and values.
 */
export function decodeRequest(frame: Uint8Array): ModbusRequest | { readonly exception: 1 | 3 } {
  const asked = frame[1] ?? 0;
  const start = wordAt(frame, 2);
  const count = wordAt(frame, 4);
  const refused = { exception: 3 } as const;
  if (requestLength(frame) !== frame.length) return requestLength(frame) === null ? { exception: 1 } : refused;
  switch (asked) {
    case 1:
    case 2:
    case 3:
    case 4: {
      const most = asked <= 2 ? modbusLimits.readBits : modbusLimits.readRegisters;
      return count < 1 || count > most ? refused : { function: asked, start, count };
    }
    case 5:
      return count !== 0 && count !== 0xff00 ? refused : { function: 5, coil: start, on: count !== 0 };
    case 6:
      return { function: 6, register: start, value: count };
    case 15:
      if (count < 1 || count > modbusLimits.writeBits || frame[6] !== Math.ceil(count / 8)) return refused;
      return { function: 15, start, coils: unpackBits(frame, 7, count) };
    case 16: {
      if (count < 1 || count > modbusLimits.writeRegisters || frame[6] !== 2 * count) return refused;
      const registers = Array.from({ length: count }, (_, index) => wordAt(frame, 7 + 2 * index));
      return { function: 16, start, registers };
    }
    default:
      return { exception: 1 };
  }
}
