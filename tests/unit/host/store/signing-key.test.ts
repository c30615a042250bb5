import { createPrivateKey } from 'node:crypto';
import { chmodSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import {
  describeKey,
  isSignedBy,
  keyFileOf,
  makeSigningKey,
  publicPem,
  readPublicKey,
  readSigningKey,
  signBytes,
} from '../../../../src/host/store/signing-key.ts';
import { temporaryFolder } from '../../../support/store/trial.ts';

const folder = temporaryFolder();
afterAll(() => folder.remove());

const bytes = (hexadecimal: string): Buffer => Buffer.from(hexadecimal, 'hex');

/**
 * RFC 8032, section 7.1, Ed25519, TEST 1 to 3: secret key, public key, message, signature. The frames around the keys
 * are those of RFC 8410, section 7 and 4.
 */
const vectors = [
  {
    test: 'TEST 1',
    secret: '9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60',
    public: 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a',
    message: '',
    signature:
      'e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46b' +
      'd25bf5f0595bbe24655141438e7a100b',
  },
  {
    test: 'TEST 2',
    secret: '4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb',
    public: '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c',
    message: '72',
    signature:
      '92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c' +
      '387b2eaeb4302aeeb00d291612bb0c00',
  },
  {
    test: 'TEST 3',
    secret: 'c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7',
    public: 'fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025',
    message: 'af82',
    signature:
      '6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc659' +
      '4a7c15e9716ed28dc027beceea1ec40a',
  },
];

describe('Ed25519', () => {
  it.each(vectors)('signs and verifies $test of RFC 8032', ({ secret, public: published, message, signature }) => {
    const der = bytes(`302e020100300506032b657004220420${secret}`);
    const key = createPrivateKey({ key: der, format: 'der', type: 'pkcs8' });
    const described = describeKey(key);
    const spki = bytes(`302a300506032b6570032100${published}`);
    expect(described.publicKey).toBe(spki.toString('base64'));
    const made = signBytes(key, bytes(message));
    expect(Buffer.from(made, 'base64').toString('hex')).toBe(signature);
    expect(isSignedBy(described, bytes(message), made)).toBe(true);
    expect(isSignedBy(described, bytes(`${message}00`), made)).toBe(false);
    expect(isSignedBy({ ...described, fingerprint: '0'.repeat(64) }, bytes(message), made)).toBe(false);
    expect(isSignedBy(described, bytes(message), `${made} `)).toBe(false);
    expect(isSignedBy({ ...described, publicKey: 'AAAA' }, bytes(message), made)).toBe(false);
  });
});

describe('the key of a laboratory', () => {
  const path = keyFileOf(join(folder.path, 'laboratory.chamberside-laboratory'));

  it('is not there until it is made', () => {
    expect(() => readSigningKey(path)).toThrowError(expect.objectContaining({ code: 'key-not-found' }));
  });

  it('is made once, for its owner alone, and its public part leads back to it', () => {
    const made = makeSigningKey(path);
    if (process.platform !== 'win32') expect(statSync(path).mode & 0o777).toBe(0o600);
    const before = readFileSync(path, 'utf8');
    expect(() => makeSigningKey(path)).toThrowError(expect.objectContaining({ code: 'file-exists' }));
    expect(readFileSync(path, 'utf8')).toBe(before);
    expect(describeKey(readSigningKey(path))).toEqual(made);
    const exported = join(folder.path, 'public.pem');
    writeFileSync(exported, publicPem(made));
    expect(readPublicKey(exported)).toEqual(made);
    expect(publicPem(made)).not.toContain('PRIVATE');
  });

  it('is refused when others can read it', () => {
    chmodSync(path, 0o640);
    // Windows has no such permissions.
    const isOpen = (statSync(path).mode & 0o077) !== 0 && process.platform !== 'win32';
    if (isOpen) expect(() => readSigningKey(path)).toThrowError(expect.objectContaining({ code: 'key-unusable' }));
    chmodSync(path, 0o600);
  });

  it('is no file that is something else, and no private key where a public one is asked for', () => {
    const other = join(folder.path, 'other.pem');
    writeFileSync(other, 'nothing', { mode: 0o600 });
    expect(() => readSigningKey(other)).toThrowError(expect.objectContaining({ code: 'key-unusable' }));
    expect(() => readPublicKey(other)).toThrowError(expect.objectContaining({ code: 'key-unusable' }));
    expect(() => readPublicKey(path)).toThrowError(expect.objectContaining({ code: 'key-unusable' }));
  });
});
