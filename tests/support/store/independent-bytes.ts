import { createHash } from 'node:crypto';

/** The notation of docs/formats/chain.md, for verifiers that share no code with the program. */

export type Row = Record<string, never> & Record<string, number | string | Buffer>;

export const number = (row: Row, column: string): number => Number(row[column]);
export const text = (row: Row, column: string): string => String(row[column]);
export const blob = (row: Row, column: string): Buffer => row[column] as unknown as Buffer;

export const u8 = (value: number): Buffer => Buffer.of(value);
export function u32(value: number): Buffer {
  const bytes = Buffer.alloc(4);
  bytes.writeUInt32LE(value);
  return bytes;
}
export function u64(value: number): Buffer {
  const bytes = Buffer.alloc(8);
  bytes.writeBigUInt64LE(BigInt(value));
  return bytes;
}
export function f64(value: number): Buffer {
  if (Number.isNaN(value)) return Buffer.from('000000000000f87f', 'hex');
  const bytes = Buffer.alloc(8);
  bytes.writeDoubleLE(value);
  return bytes;
}
export const lengthFirst = (bytes: Buffer): Buffer => Buffer.concat([u32(bytes.length), bytes]);
export const string = (value: string): Buffer => lengthFirst(Buffer.from(value, 'utf8'));
export const digest = (...parts: Buffer[]): Buffer => createHash('sha256').update(Buffer.concat(parts)).digest();

/** @throws Error that says what is wrong. */
export function must(condition: boolean, what: string): void {
  if (!condition) throw new Error(what);
}
