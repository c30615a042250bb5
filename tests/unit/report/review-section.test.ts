import { expect, it } from 'vitest';
import { assess } from '../../../src/leakage/assess.ts';
import { firstMethod } from '../../../src/leakage/default-method.ts';
import type { LeftOut } from '../../../src/leakage/left-out.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { record } from '../../support/spoiled-trial.ts';
import { sourceOf } from '../../support/report/report-source.ts';

const left: LeftOut = {
  fromMicroseconds: 100_500_000,
  toMicroseconds: 160_000_000,
  time: 'probe',
  probe: 'chest',
  reason: 'the line was kinked',
};

it('a report says who had the trial assessed and why, and what is left out, on its first page and in a section', () => {
  const source = sourceOf(record, assess(record, firstMethod, [left]));
  const review = { person: 'rita', reason: 'the line was kinked, and freed', leftOut: [left] };
  const report = trialReport({ ...source, assessment: { ...source.assessment, review } });
  const texts = (id: string): string => JSON.stringify(report.sections.find((section) => section.id === id));
  expect(texts('summary')).toContain('rita');
  expect(texts('summary')).toContain('the line was kinked, and freed');
  expect(texts('review')).toContain('100.5');
  expect(texts('review')).toContain('the line was kinked');
  expect(texts('review')).toContain('"chest"');
});

it('a report of an assessment that nobody chose has no such section', () => {
  expect(trialReport(sourceOf(record)).sections.some(({ id }) => id === 'review')).toBe(false);
});
