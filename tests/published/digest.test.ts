import { describe, expect, it } from 'vitest';
import { sha256, toHexadecimal } from '../../src/host/store/digest.ts';
import { hashPin, pinMatches } from '../../src/host/store/pin.ts';

describe('SHA-256', () => {
  // FIPS 180-4 example values (NIST, "Secure Hash Standard" examples: one-block and two-block message); from memory.
  it.each([
    ['abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
    [
      'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq',
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    ],
  ])('of %s', (text, expected) => {
    expect(toHexadecimal(sha256(text))).toBe(expected);
    expect(toHexadecimal(sha256(new TextEncoder().encode(text)))).toBe(expected);
  });

  // NIST Cryptographic Algorithm Validation Program, SHA256ShortMsg, Len = 0; from memory.
  it('of nothing', () => {
    expect(toHexadecimal(sha256(''))).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855');
  });
});

describe('scrypt', () => {
  // RFC 7914, section 12: P = "password", S = "NaCl", N = 1024, r = 8, p = 16, first 32 of 64 bytes; from memory.
  it('gives the key of RFC 7914', async () => {
    const hash = Buffer.from('fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162', 'hex');
    const stored = { salt: Buffer.from('NaCl'), hash, cost: 1024, blockSize: 8, parallel: 16 };
    expect(await pinMatches('password', stored)).toBe(true);
    expect(await pinMatches('passwore', stored)).toBe(false);
  });

  it('salts each PIN by itself', async () => {
    const [one, other] = await Promise.all([hashPin('1234'), hashPin('1234')]);
    expect(toHexadecimal(one.salt)).not.toBe(toHexadecimal(other.salt));
    expect(toHexadecimal(one.hash)).not.toBe(toHexadecimal(other.hash));
  });
});
