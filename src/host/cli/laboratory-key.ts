import { writeFileSync } from 'node:fs';
import { ChambersideError } from '../../model/error-code.ts';
import { openLaboratory } from '../store/laboratory.ts';
import { describeKey, keyFileOf, makeSigningKey, publicPem, readSigningKey } from '../store/signing-key.ts';
import type { Command } from './command.ts';

export const laboratoryKeyCommand: Command = {
  name: 'laboratory-key',
  summary: 'make the key by which a laboratory signs releases, once, and give its public part away',
  options: [
    { name: 'laboratory', value: 'FILE', help: 'laboratory file; the key lies in its folder', required: true },
    { name: 'make', value: null, help: 'make the key; refused where there is one' },
    { name: 'public', value: 'FILE', help: 'write the public key as PEM into a new file' },
  ],
  notes: [
    'The private key (Ed25519, PEM, laboratory-key.pem) can be read by the account that made it only; on Windows by',
    'whoever may read its folder: see to that yourself. All laboratory files of a folder share it. It has no',
    'passphrase: whoever reads it signs as the laboratory. Back it up where nobody else comes; a lost key is replaced',
    'by another one, and what it signed stays signed by it. Hand the public key over on a way that nobody else can',
    'change, or read its fingerprint out.',
    'Exit status 0: done. 1: refused, and it says why.',
  ],
  run(values, output) {
    const laboratory = values.text('laboratory');
    openLaboratory(laboratory).close();
    const path = keyFileOf(laboratory);
    const key = values.has('make') ? makeSigningKey(path) : describeKey(readSigningKey(path));
    const to = values.optional('public');
    if (to !== undefined) writePublic(to, publicPem(key));
    if (values.json) output.line(JSON.stringify({ key, file: path, public: to ?? null }));
    else {
      output.line(`${values.has('make') ? 'Made' : 'Key'}: ${path}`);
      output.line(`Fingerprint (SHA-256 of the public key): ${key.fingerprint}`);
      if (to !== undefined) output.line(`Public key: ${to}`);
    }
    return Promise.resolve(0);
  },
};

function writePublic(path: string, pem: string): void {
  try {
    writeFileSync(path, pem, { flag: 'wx' });
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    throw new ChambersideError('file-exists', 'The file exists already', path, 'Choose another name.', error);
  }
}
