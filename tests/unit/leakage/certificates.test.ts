import { describe, expect, it } from 'vitest';
import { certificateDoubt } from '../../../src/calibration/register/certificate-doubt.ts';
import { formatExplanation } from '../../../src/host/cli/explain-text.ts';
import { assess, assessWithWorkings } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import { explainCell } from '../../../src/leakage/explain.ts';
import type { Certificate, SupportingCertificate } from '../../../src/model/certificate.ts';
import { solePort } from '../../../src/model/rig.ts';
import { trialHeaderSchema } from '../../../src/model/trial-event.ts';
import { checksSection } from '../../../src/report/checks-section.ts';
import { textOf } from '../../../src/report/document.ts';
import { valueFromJson } from '../../support/explain-calculator.ts';
import { reportSource } from '../../support/report/report-source.ts';

const source = reportSource();
const { record } = source;
const port = record.rig.ports.find(({ role }) => role === 'probe') ?? solePort(record.rig, 'reference');
const digest = 'ab'.repeat(32);

function certified(more: Partial<Certificate>, about: Partial<SupportingCertificate> = {}): SupportingCertificate {
  const certificate: Certificate = {
    ...{ number: 'C-17', issuer: 'Calibration laboratory', quantity: 'dilution', unit: '1', value: 1.25 },
    ...{ expandedUncertainty: 0.05, coverageFactor: 2, issuedOn: '2026-01-10', validUntil: '2026-12-31' },
    ...{ file: { name: 'C-17.pdf', bytes: 20, digest, mediaType: 'application/pdf' } },
    ...more,
  };
  return {
    ...{ instrument: 'DIL-1', kind: 'diluter', maker: 'a', model: 'b', serial: '7', standing: 'valid' },
    at: { place: 'port', name: port.probe },
    certificate: { ...certificate, record: 2, ...certificateDoubt(certificate) },
    ...about,
  };
}
const photometer: Partial<SupportingCertificate> = {
  ...{ instrument: 'PH-1', kind: 'photometer', at: { place: 'instrument', name: record.rig.photometer } },
};
const resting = (...certificates: SupportingCertificate[]): typeof record => {
  return { ...record, header: trialHeaderSchema.parse({ ...record.header, certificates }) };
};
const plain = assess(record, firstMethod);
const place = plain.cells.find(({ probe, windowStandardPercent }) => probe === port.probe && windowStandardPercent);
if (place === undefined) throw new Error('no cell with an interval');
const cellOf = (of: typeof plain) =>
  of.cells.find(({ exercise, probe }) => exercise === place.exercise && probe === place.probe) ?? place;
const lineOf = (of: typeof plain, name: string) => cellOf(of).budget.find(({ line }) => line === name);

describe('certificates frozen with a trial', () => {
  it('change nothing where there are none, or where no value is computed with them', () => {
    expect(assess({ ...record, header: trialHeaderSchema.parse(record.header) }, firstMethod)).toEqual(plain);
    const climate = certified(
      { quantity: 'temperature', unit: 'K', value: -0.2 },
      { instrument: 'CL-1', kind: 'climate', at: { place: 'instrument', name: 'climate' } },
    );
    const scale = certified({ quantity: 'scale' }, photometer);
    expect(assess(resting(climate, scale), firstMethod)).toEqual(plain);
  });

  it('give the dilution of their port, with u = U/k, in place of what the rig states', () => {
    const found = assess(resting(certified({})), firstMethod);
    const value = cellOf(found).windowPercent ?? 0;
    // The leakage is proportional to the dilution of its line.
    expect(value / (place.windowPercent ?? 0)).toBeCloseTo(1.25 / port.dilution.value, 12);
    const reference = solePort(record.rig, 'reference').dilution;
    const expected = Math.abs(value) * Math.hypot(0.025 / 1.25, reference.standardUncertainty / reference.value);
    expect(lineOf(found, 'dilution')?.standardPercent).toBeCloseTo(expected, 10);
    expect(lineOf(found, 'dilution')?.degreesOfFreedom).toBeNull();
    for (const cell of found.cells.filter(({ probe }) => probe !== port.probe)) {
      const before = plain.cells.find(({ exercise, probe }) => exercise === cell.exercise && probe === cell.probe);
      expect(cell.windowPercent).toBe(before?.windowPercent);
    }
  });

  it('have the degrees of freedom that their k tells', () => {
    const { degreesOfFreedom } = certificateDoubt({
      ...{ expandedUncertainty: 0.05, coverageFactor: 2.87, coveragePercent: 95.45 },
    });
    const found = assess(resting(certified({ coverageFactor: 2.87, coveragePercent: 95.45 })), firstMethod);
    expect(lineOf(found, 'dilution')?.degreesOfFreedom).toBe(degreesOfFreedom);
    // Table G.2 of JCGM 100:2008, from memory: 2.87 is t of 95.45 % with four.
    expect(degreesOfFreedom).toBeCloseTo(4, 1);
  });

  it('correct every value for the linearity of the photometer, with a line of its own', () => {
    const linear = certified({ quantity: 'linearity', value: 0.98, expandedUncertainty: 0.02 }, photometer);
    const found = assess(resting(linear), firstMethod);
    const value = cellOf(found).windowPercent ?? 0;
    expect(value * 0.98).toBeCloseTo(place.windowPercent ?? 0, 10);
    expect(lineOf(found, 'linearity')?.standardPercent).toBeCloseTo((Math.abs(value) * 0.01) / 0.98, 10);
    // Changing the input and assessing again gives the sensitivity of the budget.
    const step = 1e-5;
    const more = assess(resting(certified({ quantity: 'linearity', value: 0.98 + step }, photometer)), firstMethod);
    const contribution = assessWithWorkings(resting(linear), firstMethod)
      .cells.find(({ shown }) => shown.exercise === place.exercise && shown.probe === place.probe)
      ?.contributions?.get('linearity');
    const slope = ((cellOf(more).windowPercent ?? 0) - value) / step;
    expect((contribution?.sensitivity ?? 0) / slope).toBeCloseTo(1, 3);
  });

  it('flag the trial when one had expired or was missing, and still count', () => {
    const expired = assess(resting(certified({}, { standing: 'expired' })), firstMethod);
    const valid = assess(resting(certified({})), firstMethod);
    expect(expired.flags).toContain('certificate-not-valid');
    expect(valid.flags).not.toContain('certificate-not-valid');
    expect(expired.cells).toEqual(valid.cells);
    const missing = assess(resting(certified({}, { standing: 'missing', certificate: null })), firstMethod);
    expect(missing.flags).toContain('certificate-not-valid');
    expect(missing.cells).toEqual(plain.cells);
  });

  it('are named by the explanation, which can be computed again from what it says', () => {
    const linear = certified({ number: 'C-18', quantity: 'linearity', value: 0.98 }, photometer);
    const rests = resting(certified({}, { standing: 'expired' }), linear);
    const explanation = explainCell(rests, firstMethod, place);
    const recomputed = valueFromJson(JSON.parse(JSON.stringify(explanation)) as Parameters<typeof valueFromJson>[0]);
    expect(recomputed?.percent).toBeCloseTo(explanation.windowPercent ?? 0, 9);
    expect(explanation.certificates).toMatchObject([
      { input: `dilution ${port.port}`, rigStates: port.dilution, standing: 'expired' },
      { input: 'linearity', rigStates: null },
    ]);
    const text = formatExplanation(explanation, false);
    const named = `certificate C-17 of DIL-1 (dilution), valid until 2026-12-31, EXPIRED; the rig states`;
    expect(text.split('\n').filter((line) => line.includes(named))).toHaveLength(2);
    expect(text).toContain('u 0.02500 = U 0.05 ÷ k 2');
    expect(text).toContain(digest);
    expect(text).toContain('÷ L');
    expect(formatExplanation(explainCell(record, firstMethod, place), false)).not.toContain('ertificates');
  });

  it('stand in the report, marked where they did not hold', () => {
    const bare = certified({}, { instrument: 'DIL-2', standing: 'missing', certificate: null });
    const { blocks } = checksSection({ ...source, record: resting(certified({}, { standing: 'expired' }), bare) });
    const table = blocks.find((block) => block.block === 'table' && block.caption.startsWith('Certificates'));
    if (table?.block !== 'table') throw new Error('no table of certificates');
    expect(table.rows.map((row) => textOf(row[4]?.words ?? []))).toEqual(['2026-12-31, EXPIRED', 'MISSING']);
    expect(table.rows.every((row) => row[4]?.flagged === true)).toBe(true);
    expect(textOf(table.rows[0]?.[2]?.words ?? [])).toContain('U 0.05 ÷ k 2');
    expect(table.notes.map(textOf)).toEqual([`C-17.pdf: SHA-256 ${digest}`]);
  });
});
