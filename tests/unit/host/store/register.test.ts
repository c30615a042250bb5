import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { RegisterEntry } from '../../../../src/calibration/register/record.ts';
import { describeAttachment, mostAttachedBytes } from '../../../../src/host/store/attached-file.ts';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import type { Laboratory } from '../../../../src/host/store/laboratory.ts';
import { rig, temporaryFolder } from '../../../support/store/trial.ts';

let folder = temporaryFolder();
let path = '';
let laboratory: Laboratory;
const open = (): Laboratory => openLaboratory(path, { create: true, wallClock: () => '2026-02-01T08:00:00.000Z' });
beforeEach(() => {
  folder = temporaryFolder();
  path = join(folder.path, 'laboratory');
  laboratory = open();
  laboratory.put('rig', rig);
});
afterEach(() => {
  laboratory.close();
  folder.remove();
});

const refusal = (code: string): unknown => expect.objectContaining({ code });
const photometer: RegisterEntry = {
  ...{ entry: 'instrument', instrument: 'PH-1', kind: 'photometer', maker: 'a maker', model: 'a model', serial: '4' },
};
const linearity: Extract<RegisterEntry, { entry: 'certificate' }> = {
  ...{ entry: 'certificate', instrument: 'PH-1' },
  certificate: {
    ...{ number: 'C-17', issuer: 'Calibration laboratory', quantity: 'linearity', unit: '1', value: 1.004 },
    ...{ expandedUncertainty: 0.02, coverageFactor: 2, coveragePercent: 95.45 },
    ...{ issuedOn: '2026-01-10', validUntil: '2027-01-09' },
  },
};
const pdf = { name: 'C-17.pdf', bytes: Buffer.from('%PDF-1.7 certificate') };

describe('the register of instruments', () => {
  it('keeps instruments, certificates with their files, and what was withdrawn, under numbers of their own', () => {
    const numbers = [
      laboratory.register.add(photometer, 'tom'),
      laboratory.register.add(linearity, 'tom', pdf),
      laboratory.register.add({ entry: 'withdrawn', instrument: 'PH-1', record: 2, reason: 'mistyped' }, 'rita'),
      laboratory.register.add({ ...linearity, certificate: { ...linearity.certificate, value: 1.005 } }, 'rita'),
    ];
    expect(numbers).toEqual([1, 2, 3, 4]);
    laboratory.close();
    laboratory = open();
    const { altered, records } = laboratory.register.read();
    expect(altered).toEqual([]);
    expect(records.map(({ number, person }) => [number, person])).toEqual([
      [1, 'tom'],
      [2, 'tom'],
      [3, 'rita'],
      [4, 'rita'],
    ]);
    const [entry] = laboratory.register.entries();
    expect(entry?.certificates.map(({ certificate, withdrawn }) => [certificate.value, withdrawn])).toEqual([
      [1.004, 'mistyped'],
      [1.005, null],
    ]);
    const kept = laboratory.register.file(2);
    // From outside: `printf '%s' '%PDF-1.7 certificate' | sha256sum`.
    expect(kept?.file).toEqual({
      ...{ name: 'C-17.pdf', bytes: 20, mediaType: 'application/pdf' },
      digest: '1ace057a0b433b7f2d37fb147b795266cbbe03acb06a2664c06d434b6d5be717',
    });
    expect(Buffer.from(kept?.bytes ?? [])).toEqual(pdf.bytes);
    expect(laboratory.register.file(4)).toBeNull();
    expect(() => laboratory.register.file(1)).toThrow(refusal('certificate-not-found'));
  });

  it('refuses what cannot be, and leaves nothing of it', () => {
    laboratory.register.add(photometer, 'tom');
    const refused = (entry: RegisterEntry, code: string): void => {
      expect(() => laboratory.register.add(entry, 'tom', null)).toThrow(refusal(code));
    };
    const certificate = (more: Partial<typeof linearity.certificate>): RegisterEntry => {
      return { ...linearity, certificate: { ...linearity.certificate, ...more } };
    };
    refused({ ...photometer, instrument: 'PH-2' }, 'instrument-exists');
    refused({ ...photometer, kind: 'climate' }, 'usage-bad-value');
    refused({ ...linearity, instrument: 'PH-9' }, 'instrument-not-found');
    refused(certificate({ quantity: 'dilution' }), 'usage-bad-value');
    refused(certificate({ coverageFactor: 0.5 }), 'usage-bad-value');
    refused(certificate({ value: Number.NaN }), 'usage-bad-value');
    refused(certificate({ validUntil: '2026-02-30' }), 'usage-bad-value');
    refused(certificate({ number: 'two\nlines' }), 'usage-bad-value');
    refused({ entry: 'withdrawn', instrument: 'PH-1', record: 1, reason: 'none' }, 'certificate-not-found');
    const at = (name: string): RegisterEntry => {
      return { entry: 'placed', instrument: 'PH-1', rig: rig.name, at: { place: 'instrument', name } };
    };
    refused(at('nowhere'), 'configuration-invalid');
    refused(at(rig.selectorValve), 'configuration-invalid');
    refused({ ...at(rig.photometer), rig: 'no rig' } as RegisterEntry, 'configuration-invalid');
    laboratory.register.add(at(rig.photometer), 'tom');
    laboratory.register.add(linearity, 'tom');
    refused(linearity, 'usage-bad-value');
    laboratory.register.add({ entry: 'retired', instrument: 'PH-1', reason: 'sold' }, 'tom');
    refused(certificate({ number: 'C-18' }), 'instrument-not-found');
    expect(laboratory.register.read().records).toHaveLength(4);
  });

  it('says which records and files are not what was stored', () => {
    laboratory.register.add(photometer, 'tom');
    laboratory.register.add(linearity, 'tom', pdf);
    laboratory.register.add({ ...photometer, serial: '5' }, 'tom');
    laboratory.close();
    const plain = new Database(path);
    for (const name of ['record_update', 'record_delete', 'file_update']) plain.exec(`DROP TRIGGER register_${name}`);
    plain.exec(`UPDATE register_record SET json = replace(json, '1.004', '1.040') WHERE number = 2`);
    laboratory = open();
    expect(laboratory.register.read()).toMatchObject({ altered: [2], records: [{ number: 1 }, { number: 3 }] });
    plain.exec(`UPDATE register_record SET json = replace(json, '1.040', '1.004') WHERE number = 2`);
    plain.exec(`UPDATE register_file SET bytes = x'25504446'`);
    expect(() => laboratory.register.file(2)).toThrow(refusal('record-insufficient'));
    plain.exec('UPDATE register_record SET number = 9 WHERE number = 3');
    plain.exec('DELETE FROM register_record WHERE number = 1');
    expect(laboratory.register.read().altered).toEqual([1, 3, 4, 5, 6, 7, 8, 9]);
    plain.close();
  });

  it('takes PDF, PNG, JPEG and plain text of some size, by how they begin, and no program', () => {
    const type = (...bytes: number[]): string => describeAttachment({ name: 'x', bytes: Buffer.from(bytes) }).mediaType;
    expect(type(0xff, 0xd8, 0xff, 0xe0)).toBe('image/jpeg');
    expect(type(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0)).toBe('image/png');
    expect(type(...Buffer.from('größer\r\n\tals\n'))).toBe('text/plain');
    const bad: Uint8Array[] = [
      Buffer.from([0x7f, 0x45, 0x4c, 0x46]),
      Buffer.from('MZ\0\0'),
      Buffer.from([0xc3, 0x28]),
      Buffer.alloc(0),
      Buffer.alloc(mostAttachedBytes + 1, 'a'),
    ];
    for (const bytes of bad) expect(() => describeAttachment({ name: 'x', bytes })).toThrow(refusal('file-not-ours'));
  });
});
