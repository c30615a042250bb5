import { createPrivateKey, createPublicKey, generateKeyPairSync, sign, verify } from 'node:crypto';
import type { KeyObject } from 'node:crypto';
import { closeSync, existsSync, fstatSync, linkSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { ChambersideError } from '../../model/error-code.ts';
import type { SignatureKey } from '../../model/signature.ts';
import { isFileSystemFailure, fileSystemError } from '../file-error.ts';
import { readGivenFile } from '../given-file.ts';
import { refuseMissingFolder, synchronizeFolder } from './database.ts';
import { sha256, toHexadecimal } from './digest.ts';

/**
 * The key by which a laboratory shows that a release is its own: Ed25519 (RFC 8032), kept as PKCS #8 and given away as
 * SubjectPublicKeyInfo (RFC 8410), both PEM, so that other programs can use them.
 */

const privateName = 'laboratory-key.pem';

/** Where the private key of a laboratory lies: beside its file. */
export function keyFileOf(laboratoryPath: string): string {
  return join(dirname(resolve(laboratoryPath)), privateName);
}

/**
 * Makes the key pair of a laboratory, once; readable by the account that made it only.
 * @throws ChambersideError `file-exists`, `file-not-found` (the folder), `commit-failed`, `disk-full`.
 */
export function makeSigningKey(path: string): SignatureKey {
  refuseMissingFolder(path);
  const { privateKey, publicKey } = generateKeyPairSync('ed25519');
  const pem = privateKey.export({ type: 'pkcs8', format: 'pem' }).toString();
  // Whole or not at all: half a key would be taken for the laboratory's.
  const draft = `${path}.${process.pid}.draft`;
  try {
    rmSync(draft, { force: true });
    writeFileSync(draft, pem, { flag: 'wx', mode: 0o600, flush: true });
    // Never over one that is there: what it signed could not be signed again.
    linkSync(draft, path);
    synchronizeFolder(dirname(resolve(path)));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') {
      const remedy = 'Use it. Another one would be another signer: move this one away first, and keep it.';
      throw new ChambersideError('file-exists', 'The laboratory has a key already', path, remedy, error);
    }
    throw isFileSystemFailure(error) ? fileSystemError(error, path) : error;
  } finally {
    rmSync(draft, { force: true });
  }
  return describeKey(publicKey);
}

/**
 * The private key of a laboratory.
 * @throws ChambersideError `key-not-found`; `key-unusable` for what is no Ed25519 key, or what others can read.
 */
export function readSigningKey(path: string): KeyObject {
  if (!existsSync(path)) {
    const remedy = 'Make it once: npx --no-install chamberside laboratory-key --laboratory FILE --make';
    throw new ChambersideError('key-not-found', 'The laboratory has no key to sign with', path, remedy);
  }
  let text: string;
  try {
    const descriptor = openSync(path, 'r');
    try {
      const { mode } = fstatSync(descriptor);
      if (process.platform !== 'win32' && (mode & 0o077) !== 0) {
        const remedy = `Take that from them (chmod 600 ${path}), and make another key if somebody may have read it.`;
        throw new ChambersideError('key-unusable', 'Others than its owner can read or write the key', path, remedy);
      }
      text = readFileSync(descriptor, 'utf8');
    } finally {
      closeSync(descriptor);
    }
  } catch (error) {
    if (error instanceof ChambersideError) throw error;
    const remedy = 'Ask its owner; the key signs for the account that made it only.';
    throw new ChambersideError('key-unusable', 'The key cannot be read', path, remedy, error);
  }
  return asEd25519(() => createPrivateKey(text), 'private', path);
}

/** A public key from a PEM file. @throws ChambersideError `file-not-found`, `file-not-ours`, `key-unusable`. */
export function readPublicKey(path: string): SignatureKey {
  const text = readGivenFile(path, 'public key', 'Give the path of a public key as PEM.');
  if (text.includes('PRIVATE KEY')) {
    const remedy = 'Give the public key: a private one is for nobody but its laboratory.';
    throw new ChambersideError('key-unusable', 'This is a private key', path, remedy);
  }
  return describeKey(asEd25519(() => createPublicKey(text), 'public', path));
}

function asEd25519(make: () => KeyObject, kind: 'private' | 'public', path: string): KeyObject {
  let key: KeyObject | null = null;
  let cause: unknown = null;
  try {
    key = make();
  } catch (error) {
    cause = error;
  }
  if (key?.asymmetricKeyType === 'ed25519') return key;
  const remedy = `Give a ${kind} key of Ed25519 as PEM.`;
  throw new ChambersideError('key-unusable', `This is no ${kind} key of Ed25519`, path, remedy, cause);
}

/** What a signature says of a key, private or public. */
export function describeKey(key: KeyObject): SignatureKey {
  const { asymmetricKeyType, type } = key;
  if (asymmetricKeyType !== 'ed25519') throw new RangeError('not a key of Ed25519');
  const der = (type === 'private' ? createPublicKey(key) : key).export({ type: 'spki', format: 'der' });
  return { algorithm: 'Ed25519', fingerprint: toHexadecimal(sha256(der)), publicKey: der.toString('base64') };
}

/** The public key as PEM. */
export function publicPem({ publicKey }: Pick<SignatureKey, 'publicKey'>): string {
  return fromBase64(publicKey).export({ type: 'spki', format: 'pem' }).toString();
}

/** Signature of Ed25519 over the bytes, base64. @param privateKey as `readSigningKey`. */
export function signBytes(privateKey: KeyObject, bytes: Uint8Array): string {
  return sign(null, bytes, privateKey).toString('base64');
}

/**
 * Whether the key made the signature over the bytes, and its fingerprint is the key's own.
 * @param signature base64, 64 bytes, in its one form.
 */
export function isSignedBy(key: SignatureKey, bytes: Uint8Array, signature: string): boolean {
  const raw = Buffer.from(signature, 'base64');
  if (raw.length !== 64 || raw.toString('base64') !== signature) return false;
  try {
    const { fingerprint, publicKey } = describeKey(fromBase64(key.publicKey));
    const isItself = fingerprint === key.fingerprint && publicKey === key.publicKey;
    return isItself && verify(null, bytes, fromBase64(publicKey), raw);
  } catch {
    // No key of this kind: nothing can be signed by it.
    return false;
  }
}

function fromBase64(publicKey: string): KeyObject {
  return createPublicKey({ key: Buffer.from(publicKey, 'base64'), format: 'der', type: 'spki' });
}
