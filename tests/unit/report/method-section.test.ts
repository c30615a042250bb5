import { expect, it } from 'vitest';
import { adaptiveMethod } from '../../../src/leakage/adaptive-method.ts';
import type { UsedTimeConstant } from '../../../src/leakage/time-constant.ts';
import type { ReportSource } from '../../../src/report/source.ts';
import { trialReport } from '../../../src/report/trial-report.ts';
import { reportSource, withDetails } from '../../support/report/report-source.ts';

const source = reportSource();
const words = (told: ReportSource): string =>
  JSON.stringify(trialReport(told).sections.find(({ id }) => id === 'method'));
const methodDigest = (character: string) => ({ part: 'method', digest: character.repeat(64) });

it('a report says which method was planned and which was chosen', () => {
  expect(words(source)).toContain('frozen when the trial began.');
  const planned = words({ ...source, frozen: [...source.frozen, methodDigest('f')] });
  expect(planned).toBe(words(source));
  const chosen = words({ ...source, frozen: [...source.frozen, methodDigest('a')] });
  expect(chosen).toContain('chosen for this assessment: the one frozen when the trial began is another.');
});

it('a report says how long an adaptive method waits, and where its time constant comes from', () => {
  const of = (timeConstant: UsedTimeConstant): string => {
    const adapted = withDetails(source, { timeConstant });
    return words({ ...adapted, assessment: { ...adapted.assessment, method: adaptiveMethod } });
  };
  const seconds = { value: 1.97654, standardUncertainty: 0.0197654 };
  const ofFalls = of({ seconds, source: 'falls', falls: 11, reason: null });
  expect(ofFalls).toContain('three standard uncertainties longer');
  expect(ofFalls).toMatch(/1\.977.±.0\.020.s, from 11 falls/);
  expect(of({ seconds, source: 'rig', falls: 0, reason: 'no step arrives' })).toContain('(no step arrives)');
});
