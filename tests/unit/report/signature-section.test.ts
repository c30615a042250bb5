import { expect, it } from 'vitest';
import type { Signature } from '../../../src/model/signature.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { reportSource } from '../../support/report/report-source.ts';

const digest = 'a'.repeat(64);
const source = reportSource();
const own = source.assessment.assessment;
const signature = (number: number, step: Signature['step'], person: string, assessment = own): Signature => ({
  ...{ form: 'chamberside signature 1', study: 's-000000000001', number, previous: digest, trial: 't-000000000001' },
  ...{ rehearsal: false, trialHead: digest, seal: { number: 1, digest }, assessment, assessmentDigest: digest },
  ...{ assessmentProgram: '0.1.0', method: { name: 'first', version: 2, digest }, voidings: { count: 0, digest } },
  ...{ step, restsOn: number === 1 ? null : number - 1, person, reason: `reason ${number}`, program: '0.1.0' },
  createdAt: `2026-11-27T09:0${number}:00.000Z`,
  key: step === 'released' ? { algorithm: 'Ed25519', fingerprint: 'f'.repeat(64), publicKey: '' } : null,
});
const [assessed, reviewed] = [signature(1, 'assessed', 'anna'), signature(2, 'reviewed', 'rita')];
const told = (signatures: readonly Signature[]): string => {
  const report = trialReport({ ...source, signatures });
  return JSON.stringify(report.sections.find(({ id }) => id === 'signatures'));
};

it('a report says how far its assessment is signed, by whom, why and by which key, and what it proves not', () => {
  const text = told([assessed, reviewed, signature(3, 'released', 'rita')]);
  expect(text).toContain('This assessment is released, by rita.');
  for (const part of ['anna', 'reason 1', 'reason 3', 'f'.repeat(64), 'not who sat at the keyboard']) {
    expect(text).toContain(part);
  }
  const { dated } = trialReport({ ...source, signatures: [assessed, reviewed] });
  expect(dated).toBe(reviewed.createdAt);
  expect(told([assessed, reviewed])).toContain('signed as reviewed, by rita, and not released');
});

it('a report of another assessment than the released one says so, and one of an unsigned real trial as well', () => {
  const other = 'a-000000000009';
  const chain = [signature(1, 'assessed', 'anna', other), signature(2, 'reviewed', 'rita', other)];
  const text = told([...chain, signature(3, 'released', 'rita', other)]);
  expect(text).toContain('No signature of this assessment stands.');
  expect(text).toContain(other);
  const { record } = source;
  const unsigned = (virtual: boolean) => {
    const header = { ...record.header, virtual };
    const { sections } = trialReport({ ...source, record: { ...record, header }, signatures: [] });
    return JSON.stringify(sections.find(({ id }) => id === 'signatures'));
  };
  expect(unsigned(false)).toContain('Nobody has signed an assessment of this trial');
  expect(unsigned(true)).toBe(undefined);
});
