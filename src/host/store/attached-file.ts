import { ChambersideError } from '../../model/error-code.ts';
import type { AttachedFile } from '../../model/certificate.ts';
import { sha256, toHexadecimal } from './digest.ts';

/** Largest file that may come with a certificate, bytes: some dozens of scanned pages. */
export const mostAttachedBytes = 8 * 1024 * 1024;

/** A file that somebody gives to a certificate. */
export interface GivenAttachment {
  /** Without folders. */
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** How files of each type begin. */
const beginnings: readonly (readonly [mediaType: string, bytes: readonly number[]])[] = [
  ['application/pdf', [0x25, 0x50, 0x44, 0x46, 0x2d]],
  ['image/png', [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]],
  ['image/jpeg', [0xff, 0xd8, 0xff]],
];

/**
 * What is kept of a file besides its bytes. Looks at its beginning only, to keep out what was taken by mistake; a file
 * is stored and given back, and never opened by this program.
 * @throws ChambersideError `file-not-ours` for an empty file, one that is too large, and any other type.
 */
export function describeAttachment({ bytes, name }: GivenAttachment): AttachedFile {
  const notThis = (what: string, remedy: string): ChambersideError =>
    new ChambersideError('file-not-ours', what, name, remedy);
  if (bytes.length === 0) throw notThis('The file is empty', 'Choose another one.');
  if (bytes.length > mostAttachedBytes) {
    const most = `${mostAttachedBytes / 1024 / 1024} MB`;
    throw notThis(`The file has more than ${most}`, 'Attach a smaller copy, or name the certificate without its file.');
  }
  const found = beginnings.find(([, first]) => first.every((byte, index) => bytes[index] === byte));
  const mediaType = found?.[0] ?? (isText(bytes) ? 'text/plain' : null);
  if (mediaType === null) throw notThis('The file is no PDF, PNG, JPEG or plain text', 'Attach one of these.');
  return { name, bytes: bytes.length, digest: toHexadecimal(sha256(bytes)), mediaType };
}

function isText(bytes: Uint8Array): boolean {
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
    return !/[^\P{Cc}\t\r\n\f]/u.test(text);
  } catch {
    return false;
  }
}
