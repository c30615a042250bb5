import { expect, it } from 'vitest';
import type { Voiding } from '../../../src/model/voiding.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { reportSource } from '../../support/report/report-source.ts';

const decided = (decision: Voiding['decision'], createdAt: string): Voiding => ({
  ...{ trial: 't-000000000001', trialHead: 'a'.repeat(64), decision, person: 'rita', program: '0.1.0', createdAt },
  reason: 'the hose had come off',
});

it('a report of a void trial says so before its answer and at the head of every page, and gives no verdict', () => {
  const source = reportSource();
  const report = trialReport({ ...source, voidings: [decided('void', '2026-11-27T09:00:00.000Z')] });
  const [first] = report.sections[0]?.blocks.filter(({ block }) => block === 'answer') ?? [];
  const texts = JSON.stringify(first);
  expect(texts.indexOf('This trial is void.')).toBeGreaterThan(0);
  expect(texts).toContain('the hose had come off');
  const verdicts = report.sections[0]?.blocks.find(({ block }) => block === 'verdicts');
  expect(JSON.stringify(verdicts)).toContain('No verdict');
  expect(JSON.stringify(report.head)).toContain('VOID');
  expect(report.dated).toBe('2026-11-27T09:00:00.000Z');
  expect(JSON.stringify(report.sections.find(({ id }) => id === 'void'))).toContain('rita');
});

it('a report of a trial that was void says both decisions, and reads as any other otherwise', () => {
  const source = reportSource();
  const voidings = [decided('void', '2026-11-27T09:00:00.000Z'), decided('withdrawn', '2026-11-27T10:00:00.000Z')];
  const [report, plain] = [trialReport({ ...source, voidings }), trialReport(source)];
  expect(report.sections[0]).toEqual(plain.sections[0]);
  expect(report.head).toEqual(plain.head);
  expect(JSON.stringify(report.sections.find(({ id }) => id === 'void'))).toContain('taken back');
  expect(plain.sections.some(({ id }) => id === 'void')).toBe(false);
});
