import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { checkCourseSchema, instrumentHistorySchema, registerAskSchema } from '../../../../src/bridge/register.ts';
import type { RegisterEntry } from '../../../../src/calibration/register/record.ts';
import { figure, verdict } from '../../../../src/calibration/check/vocabulary.ts';
import { performLaboratory } from '../../../../src/host/compute/laboratory-job.ts';
import { readInstrumentHistory, readRegister } from '../../../../src/host/compute/register-job.ts';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import { rig, temporaryFolder } from '../../../support/store/trial.ts';

let folder = temporaryFolder();
let path = '';
const day = (number: number): string => `2026-02-${String(number).padStart(2, '0')}T08:00:00.000Z`;
beforeEach(async () => {
  folder = temporaryFolder();
  path = join(folder.path, 'laboratory');
  const laboratory = openLaboratory(path, { create: true });
  try {
    laboratory.put('rig', rig);
    await laboratory.addPerson({ code: 'tom', name: 'Tom', roles: ['technician'], pin: '4711' });
    await laboratory.addPerson({ code: 'rita', name: 'Rita', roles: ['reviewer'], pin: '4712' });
  } finally {
    laboratory.close();
  }
});
afterEach(() => folder.remove());

const photometer: RegisterEntry = {
  ...{ entry: 'instrument', instrument: 'PH-1', kind: 'photometer', maker: 'a maker', model: 'a model', serial: '4' },
};
const place = (name: string): RegisterEntry => ({
  ...{ entry: 'placed', instrument: 'PH-1', rig: name },
  at: { place: 'instrument', name: rig.photometer },
});
const put = (entry: RegisterEntry, now: string, person = 'tom', pin = '4711', open = null as typeof rig | null) =>
  performLaboratory(path, { change: 'register', entry, person, pin, open }, now);
const refused = (code: string): unknown => expect.objectContaining({ code });

/** Check results as the laboratory keeps them, with the ground that a zero has at the least. */
function keepZero(at: string, value: number): void {
  const laboratory = openLaboratory(path);
  try {
    const found = verdict([figure('mean', value, 'mg/m3', { low: -1, high: 1 })], 'drawn');
    const about = { check: 'zero', subject: null, condition: 'routine', at, person: 'tom', validDays: 1 } as const;
    const record = { form: 1 as const, check: 'zero', subject: null, steps: [], streams: [] };
    laboratory.checks.add({ ...found, ...about }, { rig, record });
  } finally {
    laboratory.close();
  }
}

describe('what windows put down in the register', () => {
  it('is a record of a technician who knows their PIN, and of nobody else', async () => {
    await expect(put(photometer, day(1), 'tom', '0000')).rejects.toThrow(refused('pin-wrong'));
    await expect(put(photometer, day(1), 'rita', '4712')).rejects.toThrow(refused('role-missing'));
    await expect(put(photometer, day(1), 'ghost', '4711')).rejects.toThrow(refused('person-not-found'));
    expect(readRegister(path, day(1)).instruments).toEqual([]);
    const { kept, register } = await put(photometer, day(1));
    expect([kept, register.map(({ instrument }) => instrument)]).toEqual([1, ['PH-1']]);
  });

  it('places in a rig of the laboratory, or in the one that is open', async () => {
    await put(photometer, day(1));
    await expect(put(place('practice'), day(2))).rejects.toThrow(refused('configuration-invalid'));
    await put(place('practice'), day(2), 'tom', '4711', { ...rig, name: 'practice' });
    expect(readRegister(path, day(2)).instruments[0]?.placed?.rig).toBe('practice');
  });

  it('never names a file that did not come with it', () => {
    const file = { name: 'x.pdf', bytes: 10, digest: 'a'.repeat(64), mediaType: 'application/pdf' };
    const certificate = {
      ...{ number: 'C', issuer: 'L', quantity: 'scale', unit: '1', value: 1, expandedUncertainty: 0.1 },
      ...{ coverageFactor: 2, issuedOn: '2026-01-01', validUntil: '2027-01-01' },
    };
    const asked = (of: object) => ({ ...{ entry: { entry: 'certificate', instrument: 'PH-1', certificate: of } } });
    const who = { person: 'tom', pin: '4711' };
    expect(registerAskSchema.safeParse({ ...asked(certificate), ...who }).success).toBe(true);
    expect(registerAskSchema.safeParse({ ...asked({ ...certificate, file }), ...who }).success).toBe(false);
  });
});

describe('the history of an instrument', () => {
  it('has its records, and what checks have shown while it worked in a rig', async () => {
    keepZero(day(1), 0.5);
    await put(photometer, day(2));
    await put(place(rig.name), day(3));
    keepZero(day(4), 0.1);
    keepZero(day(5), 0.2);
    const history = instrumentHistorySchema.parse(readInstrumentHistory(path, 'PH-1', day(6)));
    expect(history.records.map(({ number, entry }) => [number, entry.entry])).toEqual([
      [1, 'instrument'],
      [2, 'placed'],
    ]);
    const [course] = history.courses.map((one) => checkCourseSchema.parse(one));
    expect(course).toMatchObject({ rig: rig.name, check: 'zero', line: null });
    expect(course?.results.map(({ result }) => result.figures[0]?.value)).toEqual([0.2, 0.1]);
    expect(history.courses).toHaveLength(1);
    expect(() => readInstrumentHistory(path, 'PH-2', day(6))).toThrow(refused('instrument-not-found'));
  });

  it('says which records are not what was stored, and which checks cannot be read', async () => {
    await put(photometer, day(2));
    await put(place(rig.name), day(3));
    keepZero(day(4), 0.1);
    keepZero(day(5), 0.2);
    await put({ ...photometer, instrument: 'PH-9', serial: '9' }, day(5));
    const database = new Database(path);
    for (const name of ['register_record_update', 'rig_check_update']) database.exec(`DROP TRIGGER ${name}`);
    database.prepare(`UPDATE register_record SET json = replace(json, 'PH-9', 'PH-8') WHERE number = 3`).run();
    database.prepare(`UPDATE rig_check SET json = json_remove(json, '$.figures') WHERE number = 1`).run();
    database.close();
    expect(readRegister(path, day(6))).toMatchObject({ altered: [3], instruments: [{ instrument: 'PH-1' }] });
    const { courses, unreadable } = readInstrumentHistory(path, 'PH-1', day(6));
    expect([courses[0]?.results.length, unreadable]).toEqual([1, [1]]);
  });
});
