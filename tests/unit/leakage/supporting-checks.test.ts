import { describe, expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import type { SupportingCheck } from '../../../src/model/supporting-check.ts';
import type { TableCell } from '../../../src/report/document.ts';
import { textOf } from '../../../src/report/document.ts';
import { checksSection } from '../../../src/report/checks-section.ts';
import { reportSource } from '../../support/report/report-source.ts';

const source = reportSource();
const { record } = source;
const span: SupportingCheck = {
  ...{ check: 'span', subject: null, name: 'span', number: 7, madeAt: '2026-11-20T08:00:00.000Z' },
  standing: 'overdue',
};
const resting = (checks: SupportingCheck[] | undefined): typeof record => {
  return { ...record, header: { ...record.header, ...(checks === undefined ? {} : { checks }) } };
};

describe('the checks that a trial rests on', () => {
  it('flag the trial when one was overdue or had failed, and change no number', () => {
    const before = assess(resting(undefined), firstMethod);
    for (const standing of ['overdue', 'failed'] as const) {
      const flagged = assess(resting([{ ...span, standing }]), firstMethod);
      expect(flagged.flags).toContain('check-not-valid');
      expect(flagged.cells).toEqual(before.cells);
    }
    for (const standing of ['valid', 'due-soon'] as const) {
      expect(assess(resting([{ ...span, standing }]), firstMethod)).toEqual(before);
    }
    expect(assess(resting([]), firstMethod)).toEqual(before);
  });

  it('stand in the report, marked where they did not hold; that nothing is known of them stands there too', () => {
    const said = (checks: SupportingCheck[] | undefined): string[][] =>
      checksSection({ ...source, record: resting(checks) }).blocks.flatMap((block) => {
        if (block.block === 'paragraph') return [[textOf(block.words)]];
        if (block.block !== 'table') return [];
        const shown = ({ flagged, words }: TableCell): string => `${textOf(words)}${flagged === true ? ' !' : ''}`;
        return block.rows.map((row) => row.map(shown));
      });
    expect(said([span])).toContainEqual(['span', '20 November 2026, 08:00:00 UTC', 'overdue !', '7']);
    expect(said([]).flat().join()).toContain('No check of the rig had been made');
    expect(said(undefined).flat().join()).toContain('is not in the record');
  });
});
