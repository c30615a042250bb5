import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openLaboratory } from '../../../../src/host/store/laboratory.ts';
import type { Laboratory } from '../../../../src/host/store/laboratory.ts';
import type { CheckRecord } from '../../../../src/calibration/check/step.ts';
import { figure, verdict } from '../../../../src/calibration/check/vocabulary.ts';
import type { CheckResult } from '../../../../src/calibration/check/vocabulary.ts';
import { method, rig, series, temporaryFolder } from '../../../support/store/trial.ts';

let folder = temporaryFolder();
let laboratory: Laboratory;
beforeEach(() => {
  folder = temporaryFolder();
  laboratory = openLaboratory(join(folder.path, 'laboratory'), {
    create: true,
    wallClock: () => '2026-01-05T08:00:00.000Z',
  });
});
afterEach(() => {
  laboratory.close();
  folder.remove();
});

const refusal = (code: string): unknown => expect.objectContaining({ code });
const anna = { code: 'anna', name: 'Anna', roles: ['operator'] as const, pin: '482915' };

describe('people', () => {
  it('are registered, listed, and known by their PIN', async () => {
    const person = await laboratory.addPerson(anna);
    await laboratory.addPerson({
      code: 'ben',
      name: 'Ben',
      roles: ['technician', 'reviewer', 'reviewer'],
      pin: '0000',
    });
    expect(laboratory.listPeople().map(({ code, roles, active }) => ({ code, roles, active }))).toEqual([
      { code: 'anna', roles: ['operator'], active: true },
      { code: 'ben', roles: ['technician', 'reviewer'], active: true },
    ]);
    expect(await laboratory.verifyPin('anna', '482915')).toEqual(person);
    await expect(laboratory.verifyPin('anna', '482916')).rejects.toThrow(refusal('pin-wrong'));
    await expect(laboratory.verifyPin('ben', '482915')).rejects.toThrow(refusal('pin-wrong'));
    await expect(laboratory.verifyPin('carl', '482915')).rejects.toThrow(refusal('person-not-found'));
  });

  it('keep their code for themselves', async () => {
    await laboratory.addPerson(anna);
    await expect(laboratory.addPerson(anna)).rejects.toThrow(refusal('person-exists'));
    // What the subject did, and what nobody put a name to, stands under these in records.
    for (const code of ['subject', 'unknown', 'Subject', 'ANNA']) {
      await expect(laboratory.addPerson({ ...anna, code })).rejects.toThrow(refusal('person-exists'));
    }
    await expect(
      Promise.all([laboratory.addPerson({ ...anna, code: 'dora' }), laboratory.addPerson({ ...anna, code: 'dora' })]),
    ).rejects.toThrow();
    expect(laboratory.listPeople().map((person) => person.code)).toEqual(['anna', 'dora']);
  });

  it.each([
    { ...anna, code: '' },
    { ...anna, code: 'a b' },
    { ...anna, name: '' },
    { ...anna, roles: [] },
    { ...anna, pin: '123' },
    { ...anna, pin: '1234567890123' },
    { ...anna, pin: '12a4' },
  ])('are refused when %o', async (entry) => {
    await expect(laboratory.addPerson(entry)).rejects.toThrow(refusal('usage-bad-value'));
    expect(laboratory.listPeople()).toEqual([]);
  });

  it('stay in the file when they leave, and cannot act any more', async () => {
    await laboratory.addPerson(anna);
    laboratory.deactivatePerson('anna');
    expect(laboratory.listPeople()).toMatchObject([{ code: 'anna', active: false }]);
    await expect(laboratory.verifyPin('anna', '482915')).rejects.toThrow(refusal('person-not-found'));
    expect(() => laboratory.deactivatePerson('carl')).toThrow(refusal('person-not-found'));
    const plain = new Database(laboratory.path);
    expect(() => plain.exec('DELETE FROM person')).toThrow('record-fixed');
    plain.close();
  });

  it('never leave a PIN in the file', async () => {
    await laboratory.addPerson(anna);
    const plain = new Database(laboratory.path, { readonly: true });
    expect(JSON.stringify(plain.prepare('SELECT * FROM person').all())).not.toContain(anna.pin);
    plain.close();
  });
});

describe('versions', () => {
  it('of rigs, methods and series are found by name, by version and by digest', () => {
    const first = laboratory.put('rig', rig);
    const second = laboratory.put('rig', { ...rig, version: 2, bypass: false });
    expect(laboratory.get('rig', rig.name)).toEqual(second);
    expect(laboratory.get('rig', rig.name, 1)).toEqual(first);
    expect(laboratory.get('rig', rig.name, 3)).toBeNull();
    expect(laboratory.getByDigest('rig', first.digest)?.content).toEqual(rig);
    expect(laboratory.getByDigest('method', first.digest)).toBeNull();
    laboratory.put('method', method);
    laboratory.put('series', series);
    expect(laboratory.list('series').map((entry) => entry.content)).toEqual([series]);
    expect(laboratory.list('rig')).toEqual([second]);
  });

  it('are never changed', () => {
    const first = laboratory.put('method', method);
    expect(laboratory.put('method', method)).toEqual(first);
    expect(() => laboratory.put('method', { ...method, lagCorrection: false })).toThrow(
      refusal('configuration-invalid'),
    );
    const plain = new Database(laboratory.path);
    expect(() => plain.exec("UPDATE document SET json = '{}'")).toThrow('record-fixed');
    plain.close();
  });

  it('must satisfy their schema', () => {
    expect(() => laboratory.put('rig', { ...rig, ports: [] })).toThrow(refusal('configuration-invalid'));
    expect(laboratory.list('rig')).toEqual([]);
  });
});

describe('where instruments are', () => {
  it('is kept by rig and instrument, the last word only', () => {
    const serial = { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9600 } as const;
    const tcp = { kind: 'tcp', host: '127.0.0.1', port: 4001 } as const;
    laboratory.connect('bench', 'photometer', serial);
    laboratory.connect('bench', 'belt', serial);
    laboratory.connect('bench', 'photometer', tcp);
    expect(laboratory.listConnections()).toEqual([
      { rig: 'bench', instrument: 'belt', settings: serial },
      { rig: 'bench', instrument: 'photometer', settings: tcp },
    ]);
    expect(() => laboratory.connect('bench', 'belt', { ...serial, path: '' })).toThrow(refusal('usage-bad-value'));
  });
});

describe('checks', () => {
  const result: CheckResult = {
    ...verdict([figure('mean', 0.02, 'mg/m3', { low: -0.2, high: 0.2 })], 'Limit.'),
    check: 'zero',
    subject: null,
    condition: 'routine',
    at: '2026-01-05T08:00:00.000Z',
    person: 'anna',
    validDays: 1,
  };
  const record: CheckRecord = { form: 1, check: 'zero', subject: null, steps: [], streams: [] };
  const ground = { rig, record };

  it('are kept for good with what they were judged on, and the newest of each is listed', () => {
    const { checks } = laboratory;
    checks.add(result, ground);
    checks.add({ ...result, person: 'bert' }, ground);
    checks.add({ ...result, check: 'span' }, ground);
    checks.add({ ...result, check: 'dilution', subject: 'ankle' }, ground);
    checks.add(result, { record, rig: { ...rig, version: 2 } });
    const listed = checks.newest().map(({ number, version, result: one }) => [number, version, one.check, one.subject]);
    expect(listed).toEqual([
      [3, 1, 'span', null],
      [4, 1, 'dilution', 'ankle'],
      [5, 2, 'zero', null],
    ]);
    expect(checks.history(rig.name, 'zero', null, 2).map(({ number }) => number)).toEqual([5, 2]);
    expect(checks.history(rig.name, 'dilution', 'ankle', 9)).toHaveLength(1);
    expect(checks.history(rig.name, 'dilution', null, 9)).toEqual([]);
    expect(checks.ground(5)).toEqual({ record, rig: { ...rig, version: 2 } });
    expect(() => checks.ground(6)).toThrow(refusal('check-not-found'));
    expect(() => checks.add({ ...result, validDays: -1 }, ground)).toThrow(refusal('usage-bad-value'));
    expect(checks.newest()).toHaveLength(3);
  });

  it('are not changed, and what was changed all the same is not believed', () => {
    const number = laboratory.checks.add(result, ground);
    const plain = new Database(laboratory.path);
    for (const table of ['rig_check', 'rig_check_record']) {
      for (const statement of [`UPDATE ${table} SET json = '{}'`, `DELETE FROM ${table}`]) {
        expect(() => plain.exec(statement)).toThrow('record-fixed');
      }
    }
    plain.exec('DROP TRIGGER rig_check_record_update');
    plain.exec(`UPDATE rig_check_record SET json = replace(json, '"form":1', '"form":1.0')`);
    plain.close();
    expect(() => laboratory.checks.ground(number)).toThrow(refusal('record-insufficient'));
  });
});
