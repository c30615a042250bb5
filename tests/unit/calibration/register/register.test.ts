import { describe, expect, it } from 'vitest';
import type { RegisterEntry, RegisterRecord } from '../../../../src/calibration/register/record.ts';
import {
  certificateFaults,
  foldRegister,
  standingCertificates,
  supportingCertificates,
} from '../../../../src/calibration/register/register.ts';
import { certificateName, doubtfulCertificates } from '../../../../src/model/certificate.ts';
import type { Certificate } from '../../../../src/model/certificate.ts';

const certificate: Certificate = {
  ...{ number: 'C-17', issuer: 'Calibration laboratory', quantity: 'dilution', unit: '1' },
  ...{ value: 10.2, expandedUncertainty: 0.2, coverageFactor: 2 },
  ...{ issuedOn: '2026-01-10', validUntil: '2026-12-31' },
};
const diluter: RegisterEntry = {
  ...{ entry: 'instrument', instrument: 'DIL-1', kind: 'diluter', maker: 'a maker', model: 'ten to one', serial: '7' },
};
const certified = (more: Partial<Certificate> = {}, instrument = 'DIL-1'): RegisterEntry => {
  return { entry: 'certificate', instrument, certificate: { ...certificate, ...more } };
};
const placed = (name: string | null, instrument = 'DIL-1'): RegisterEntry => ({
  ...{ entry: 'placed', instrument, rig: name === null ? null : 'first rig' },
  at: name === null ? null : { place: 'port', name },
});
const records = (...entries: RegisterEntry[]): RegisterRecord[] =>
  entries.map((entry, index) => ({ number: index + 1, at: '2026-02-01T08:00:00.000Z', person: 'tom', entry }));
const on = (day: string, time = '12:00'): number => Date.parse(`${day}T${time}:00Z`);

describe('the register of instruments', () => {
  it('keeps every certificate, and the one issued last counts', () => {
    const [entry] = foldRegister(
      records(
        ...[diluter, certified(), certified({ number: 'C-18', issuedOn: '2026-06-01' }), certified({ number: 'old' })],
      ),
    );
    if (entry === undefined) throw new Error('no entry');
    expect(entry.certificates.map((kept) => [kept.record, kept.certificate.number])).toEqual([
      [2, 'C-17'],
      [3, 'C-18'],
      [4, 'old'],
    ]);
    const standing = standingCertificates(entry, on('2026-07-01'));
    expect(standing.map(({ kept, standing: word }) => [kept?.certificate.number, word])).toEqual([['C-18', 'valid']]);
  });

  it('holds a certificate until the end of its last day, and says so before', () => {
    const [entry] = foldRegister(records(diluter, certified()));
    if (entry === undefined) throw new Error('no entry');
    const standing = (at: number): string | undefined => standingCertificates(entry, at)[0]?.standing;
    expect(standing(on('2026-12-01', '23:59'))).toBe('valid');
    expect(standing(on('2026-12-02', '00:00'))).toBe('due-soon');
    expect(standing(on('2026-12-31', '23:59'))).toBe('due-soon');
    expect(standing(on('2027-01-01', '00:00'))).toBe('expired');
  });

  it('goes back to the one before when a certificate is withdrawn, and misses one when none is left', () => {
    const second = certified({ number: 'C-18', issuedOn: '2026-06-01' });
    const withdrawn = (record: number): RegisterEntry => {
      return { entry: 'withdrawn', instrument: 'DIL-1', record, reason: 'issued for another one' };
    };
    const counting = (...more: RegisterEntry[]): (string | undefined)[] => {
      const [entry] = foldRegister(records(diluter, certified(), second, ...more));
      const standings = entry === undefined ? [] : standingCertificates(entry, on('2026-07-01'));
      return standings.map(({ kept, standing }) => kept?.certificate.number ?? standing);
    };
    expect(counting()).toEqual(['C-18']);
    expect(counting(withdrawn(3))).toEqual(['C-17']);
    expect(counting(withdrawn(3), withdrawn(2))).toEqual(['missing']);
  });

  it('has one instrument of a kind at a place: the one that came last', () => {
    const other: RegisterEntry = { ...diluter, instrument: 'DIL-2', serial: '8' };
    const line: RegisterEntry = { ...diluter, instrument: 'LINE-1', kind: 'sampling-line', serial: '9' };
    const where = (...more: RegisterEntry[]): (string | null)[] =>
      foldRegister(records(diluter, other, line, placed('ankle'), placed('ankle', 'LINE-1'), ...more)).map(
        ({ placed: at }) => (at?.at.place === 'port' ? at.at.name : null),
      );
    expect(where()).toEqual(['ankle', null, 'ankle']);
    expect(where(placed('ankle', 'DIL-2'))).toEqual([null, 'ankle', 'ankle']);
    expect(where(placed('neck'))).toEqual(['neck', null, 'ankle']);
    expect(where(placed(null))).toEqual([null, null, 'ankle']);
    expect(where({ entry: 'retired', instrument: 'DIL-1', reason: 'broken' })).toEqual([null, null, 'ankle']);
  });

  it('gives a trial what works in its rig, with u = U/k and how it stands', () => {
    const entries = foldRegister(records(diluter, certified({ coveragePercent: 95.45 }), placed('ankle')));
    const [one, ...rest] = supportingCertificates('first rig', entries, on('2027-02-01'));
    expect(rest).toEqual([]);
    expect(one).toMatchObject({ instrument: 'DIL-1', serial: '7', standing: 'expired', at: { name: 'ankle' } });
    expect(one?.certificate).toEqual({
      ...{ ...certificate, coveragePercent: 95.45, record: 2, standardUncertainty: 0.1, degreesOfFreedom: null },
    });
    expect(one === undefined ? '' : certificateName(one)).toBe(
      'certificate C-17 of DIL-1 (dilution), valid until 2026-12-31',
    );
    expect(doubtfulCertificates(one === undefined ? [] : [one])).toHaveLength(1);
    expect(supportingCertificates('another rig', entries, on('2026-02-01'))).toEqual([]);
    const [bare] = supportingCertificates('first rig', foldRegister(records(diluter, placed('ankle'))), 0);
    expect(bare).toMatchObject({ standing: 'missing', certificate: null });
  });

  it('takes no certificate that cannot be', () => {
    const faults = (more: Partial<Certificate>, kind: 'diluter' | 'sampling-line' | 'climate' = 'diluter'): string[] =>
      certificateFaults({ kind }, { ...certificate, ...more }).map(({ member }) => member);
    expect(faults({})).toEqual([]);
    expect(faults({ value: 0.9 })).toEqual(['value']);
    expect(faults({ quantity: 'linearity' })).toEqual(['quantity']);
    expect(faults({ unit: '%' })).toEqual(['unit']);
    expect(faults({ validUntil: '2026-01-09' })).toEqual(['validUntil']);
    expect(faults({ quantity: 'penetration', value: 1.01 }, 'sampling-line')).toEqual(['value']);
    expect(faults({ quantity: 'temperature', unit: 'K', value: -0.1 }, 'climate')).toEqual([]);
    expect(faults({ quantity: 'other', unit: 'V', value: -0.1 })).toEqual([]);
  });
});
