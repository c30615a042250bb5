import { describe, expect, it } from 'vitest';
import { certificateDraft, quantitiesOf, readCertificate } from '../../../../renderer/register/register-draft.ts';
import { readInstrument } from '../../../../renderer/register/register-draft.ts';
import { certificateLines, countsOf, registerRows } from '../../../../renderer/register/register-rows.ts';
import { foldRegister } from '../../../../src/calibration/register/register.ts';
import type { RegisterEntry } from '../../../../src/calibration/register/record.ts';

const diluter = { instrument: 'DIL-1', kind: 'diluter' } as const;
const typed = {
  ...certificateDraft('diluter', null),
  ...{ number: ' C-17 ', issuer: 'Calibration laboratory', value: '10,2', expandedUncertainty: '0.2' },
  ...{ issuedOn: '2026-01-10', validUntil: '2026-12-31' },
};

describe('a certificate that is typed', () => {
  it('is an entry once all of it is there, with what may lack left out', () => {
    const { entry, problems } = readCertificate({ ...typed, value: '10.2' }, diluter);
    expect([...problems]).toEqual([]);
    expect(entry).toEqual({
      ...{ entry: 'certificate', instrument: 'DIL-1' },
      certificate: {
        ...{ number: 'C-17', issuer: 'Calibration laboratory', quantity: 'dilution', unit: '1', value: 10.2 },
        ...{ expandedUncertainty: 0.2, coverageFactor: 2, issuedOn: '2026-01-10', validUntil: '2026-12-31' },
      },
    });
    if (entry?.entry !== 'certificate') throw new Error('no certificate');
    // What was put down can be begun with again.
    const again = certificateDraft('diluter', entry.certificate);
    expect(readCertificate(again, diluter).entry).toEqual(entry);
  });

  it('says beside each field what is wrong with it, as the register would', () => {
    const empty = readCertificate(certificateDraft('diluter', null), diluter);
    expect(empty.entry).toBeNull();
    expect([...empty.problems].map(([field, { kind }]) => [field, kind])).toEqual([
      ...[['number', 'empty'], ['issuer', 'empty'], ['value', 'empty'], ['expandedUncertainty', 'empty']],
      ...[['issuedOn', 'empty'], ['validUntil', 'empty']],
    ]);
    const problemOf = (change: Partial<typeof typed>, field: keyof typeof typed): unknown =>
      readCertificate({ ...typed, value: '10.2', ...change }, diluter).problems.get(field);
    expect(problemOf({ validUntil: '31.12.2026' }, 'validUntil')).toMatchObject({ kind: 'said' });
    expect(problemOf({ validUntil: '2026-01-09' }, 'validUntil')).toEqual({
      ...{ kind: 'said', text: 'lies before the day of issue' },
    });
    expect(problemOf({ value: '0.9' }, 'value')).toMatchObject({ kind: 'said' });
    expect(problemOf({ value: 'ten' }, 'value')).toEqual({ kind: 'not-a-number' });
    expect(problemOf({ coverageFactor: '0.5' }, 'coverageFactor')).toMatchObject({ kind: 'least', limit: 1 });
    expect(problemOf({ coveragePercent: '100' }, 'coveragePercent')).toMatchObject({ kind: 'most' });
  });

  it('offers of a kind what it can state', () => {
    expect(quantitiesOf('photometer')).toEqual(['linearity', 'scale', 'other']);
    expect(quantitiesOf('contact')).toEqual(['other']);
  });
});

describe('an instrument that is typed', () => {
  it('needs a code and the texts of its plate', () => {
    const draft = { instrument: 'PH 1', kind: 'photometer', maker: 'a maker', model: ' ', serial: '1' } as const;
    expect([...readInstrument(draft).problems.keys()]).toEqual(['instrument', 'model']);
    const good = { ...draft, instrument: 'PH-1', model: 'a model' };
    expect(readInstrument(good).entry).toEqual({ entry: 'instrument', ...good });
  });
});

describe('the list of instruments', () => {
  const instrument = (code: string, kind: 'diluter' | 'contact'): RegisterEntry => ({
    ...{ entry: 'instrument', instrument: code, kind, maker: 'a maker', model: 'a model', serial: code },
  });
  const certificate = (code: string, number: string, issuedOn: string, validUntil: string): RegisterEntry => ({
    ...{ entry: 'certificate', instrument: code },
    certificate: {
      ...{ number, issuer: 'a laboratory', quantity: 'dilution', unit: '1', value: 10, expandedUncertainty: 0.1 },
      ...{ coverageFactor: 2, issuedOn, validUntil },
    },
  });
  const entries = foldRegister(
    [
      ...[instrument('D1', 'diluter'), instrument('D2', 'diluter'), instrument('S', 'contact')],
      ...[instrument('D3', 'diluter'), { entry: 'retired', instrument: 'D3', reason: 'gone' } as const],
      ...[certificate('D1', 'old', '2024-01-01', '2025-01-01'), certificate('D1', 'new', '2025-01-01', '2027-01-01')],
      certificate('D1', 'late entered', '2023-01-01', '2029-01-01'),
    ].map((entry, index) => ({ number: index + 1, at: '2026-02-01T08:00:00.000Z', person: 'tom', entry })),
  );
  const now = Date.parse('2026-06-01T08:00:00Z');

  it('begins with what is missing, and sets apart what is gone', () => {
    const { gone, here } = registerRows(entries, now);
    expect(here.map(({ entry, lines }) => [entry.instrument, lines.map(({ standing }) => standing)])).toEqual([
      ...[['D2', ['missing']], ['D1', ['valid']], ['S', ['none-needed']]],
    ]);
    expect(gone.map(({ instrument: code }) => code)).toEqual(['D3']);
    expect(countsOf(here)).toEqual({ late: 1, soon: 0, valid: 1, none: 1 });
  });

  it('has the certificate that counts first, and the others newest record first', () => {
    const [entry] = entries;
    if (entry === undefined) throw new Error('no entry');
    expect(certificateLines(entry, now).map(({ kept, standing }) => [kept.certificate.number, standing])).toEqual([
      ...[['new', 'valid'], ['late entered', null], ['old', null]],
    ]);
  });
});
