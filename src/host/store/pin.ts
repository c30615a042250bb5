import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

/** A PIN as it is kept: never the PIN itself. */
export interface PinHash {
  readonly salt: Uint8Array;
  readonly hash: Uint8Array;
  /** Parameters N, r and p of scrypt (RFC 7914). */
  readonly cost: number;
  readonly blockSize: number;
  readonly parallel: number;
}

/** 32 MiB and roughly a tenth of a second for one guess. */
const parameters = { cost: 32_768, blockSize: 8, parallel: 1 };

/** Hashes a PIN under a fresh salt of 16 bytes. */
export async function hashPin(pin: string): Promise<PinHash> {
  const salt = randomBytes(16);
  return { salt, hash: await derive(pin, { ...parameters, salt }), ...parameters };
}

/** Whether this is the PIN; takes the same time whichever byte differs. */
export async function pinMatches(pin: string, stored: PinHash): Promise<boolean> {
  const hash = await derive(pin, stored);
  return hash.length === stored.hash.length && timingSafeEqual(hash, stored.hash);
}

function derive(pin: string, { salt, cost, blockSize, parallel }: Omit<PinHash, 'hash'>): Promise<Uint8Array> {
  const options = { N: cost, r: blockSize, p: parallel, maxmem: 256 * cost * blockSize };
  return new Promise((resolve, reject) => {
    scrypt(pin.normalize('NFC'), salt, 32, options, (error, key) => {
      if (error === null) resolve(key);
      else reject(error);
    });
  });
}
