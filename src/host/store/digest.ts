import { hash } from 'node:crypto';

/** Bytes of a SHA-256 digest. */
export const digestLength = 32;

/** SHA-256 (FIPS 180-4) of the bytes; a text is hashed as UTF-8. */
export function sha256(bytes: Uint8Array | string): Uint8Array {
  return hash('sha256', bytes, 'buffer');
}

/** Lower-case hexadecimal. */
export function toHexadecimal(bytes: Uint8Array): string {
  return Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('hex');
}

export function equalBytes(one: Uint8Array, other: Uint8Array): boolean {
  return one.length === other.length && Buffer.compare(one, other) === 0;
}
